"""Published vectors: RFC 8032, 8037, 8785, and joserfc as an independent reader."""

from __future__ import annotations

import gzip
import json
import struct
import warnings
from collections.abc import Callable

import pytest
import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given, settings
from hypothesis import strategies as st
from joserfc import jws
from joserfc.errors import SecurityWarning
from joserfc.jwk import OKPKey

from tests.records.walk_sample import KEY
from walkaround.errors import RecordError, SigningKeyError
from walkaround.records.base64url import from_text, to_text
from walkaround.records.canonical import (
    DEEPEST,
    LARGEST,
    Json,
    canonical,
    parse_by_the_book,
    parse_canonical,
    recode,
)
from walkaround.records.keys import make_key, public_key
from walkaround.records.signature import Paper, WalkKind, parse_line, sign

# ---------------------------------------------------------------- RFC 8032, section 7.1

RFC_8032 = {
    "TEST 1": (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e06522490155"
        "5fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    "TEST 2": (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
}


@pytest.mark.parametrize("name", RFC_8032)
def test_rfc_8032_section_7_1(name: str) -> None:
    seed, public, message, signature = (bytes.fromhex(text) for text in RFC_8032[name])
    key = make_key(seed)
    assert key.public.x == public
    assert key.private.sign(message) == signature
    assert key.public.verifies(signature, message)
    assert not key.public.verifies(signature, message + b"x")
    assert not key.public.verifies(signature[:-1] + bytes([signature[-1] ^ 1]), message)


# ---------------------------------------------------------------- RFC 8037, appendix A

RFC_8037_D = "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A"
RFC_8037_X = "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"
RFC_8037_THUMBPRINT = "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"
RFC_8037_INPUT = "eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc"
RFC_8037_SIGNATURE = (
    "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg"
)


def test_rfc_8037_a_1_private_key() -> None:
    key = make_key(from_text(RFC_8037_D))
    assert to_text(key.public.x) == RFC_8037_X


def test_rfc_8037_a_2_public_key() -> None:
    jwk = {"kty": "OKP", "crv": "Ed25519", "x": RFC_8037_X}
    assert public_key(jwk).jwk() == jwk


def test_rfc_8037_a_3_thumbprint() -> None:
    assert make_key(from_text(RFC_8037_D)).thumbprint == RFC_8037_THUMBPRINT


def test_rfc_8037_a_4_signing() -> None:
    key = make_key(from_text(RFC_8037_D))
    assert to_text(key.private.sign(RFC_8037_INPUT.encode())) == RFC_8037_SIGNATURE
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", SecurityWarning)  # EdDSA is deprecated by RFC 9864
        line = jws.serialize_compact(
            {"alg": "EdDSA"},
            b"Example of Ed25519 signing",
            OKPKey.import_key(key.private),
            algorithms=["EdDSA"],
        )
    assert line == f"{RFC_8037_INPUT}.{RFC_8037_SIGNATURE}"


def test_rfc_8037_a_5_validation() -> None:
    key = public_key({"kty": "OKP", "crv": "Ed25519", "x": RFC_8037_X})
    assert key.verifies(from_text(RFC_8037_SIGNATURE), RFC_8037_INPUT.encode())


def test_a_line_as_in_rfc_8037_is_no_record_of_ours() -> None:
    """Its alg is EdDSA and it has no typ: intact elsewhere, refused here."""
    with pytest.raises(RecordError, match="header"):
        parse_line(f"{RFC_8037_INPUT}.{RFC_8037_SIGNATURE}".encode())


# ---------------------------------------------------------------- the other library

PAYLOAD: dict[str, Json] = {"b": ["105 psi", 1, True, None], "a": {"é": "\u2028\n"}}


@pytest.mark.parametrize("kind", WalkKind)
@pytest.mark.parametrize("paper", Paper)
def test_joserfc_reads_our_lines(kind: WalkKind, paper: Paper) -> None:
    line = sign(PAYLOAD, KEY, kind, paper)
    public = OKPKey.import_key(KEY.public.jwk())  # type: ignore[arg-type]
    read = jws.deserialize_compact(line, public, algorithms=["Ed25519"])
    packed = read.protected.get("cty") == "gzip"
    assert packed is (paper is Paper.RECORD)
    assert json.loads(gzip.decompress(read.payload) if packed else read.payload) == PAYLOAD
    assert read.protected["kid"] == KEY.thumbprint == public.thumbprint()


# ---------------------------------------------------------------- RFC 8785

# RFC 8785 appendix B: IEEE 754 bits and their text. Our records hold no fractions; the
# library that writes them is held to its standard all the same.
RFC_8785_NUMBERS = {
    "0000000000000000": b"0",
    "8000000000000000": b"0",
    "4340000000000001": b"9007199254740994",
    "444b1ae4d6e2ef50": b"1e+21",
    "3eb0c6f7a0b5ed8d": b"0.000001",
    "3eb0c6f7a0b5ed8c": b"9.999999999999997e-7",
}


@pytest.mark.parametrize("bits", RFC_8785_NUMBERS)
def test_rfc_8785_numbers(bits: str) -> None:
    (value,) = struct.unpack(">d", bytes.fromhex(bits))
    assert rfc8785.dumps(value) == RFC_8785_NUMBERS[bits]


# The test files of the RFC's author: cyberphone/json-canonicalization on GitHub, testdata/input
# and testdata/output, copied as they stand at commits 72a2163 (structures), b01b023 (french),
# ff22567 (unicode), 1e2733f (values), 77917fb (weird).
JCS_FILES = {
    "structures": (
        '{\n  "1": {"f": {"f": "hi","F": 5} ,"\\n": 56.0},\n  "10": { },\n  "": "empty",\n'
        '  "a": { },\n  "111": [ { } ],\n  "A": { }\n}',
        '{"":"empty","1":{"\\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{}],"A":{},"a":{}}',
    ),
    "french": (
        '{\n  "peach": "This sorting order",\n  "péché": "is wrong according to French",\n'
        '  "pêche": "but canonicalization MUST",\n  "sin":   "ingnore locale"\n}\n',
        '{"peach":"This sorting order","péché":"is wrong according to French",'
        '"pêche":"but canonicalization MUST","sin":"ingnore locale"}',
    ),
    "unicode": (
        '{\n  "Unnormalized Unicode":"\\u1e0d\\u0307"\n}\n',
        '{"Unnormalized Unicode":"\u1e0d\u0307"}',
    ),
    "values": (
        '{\n  "numbers": [1E30, 4.50, 333333333.33333329, 2e-3, 0.000000000000000000000000001],\n'
        '  "escaping": "\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/",\n'
        '  "literals": [null, true, false]\n}',
        '{"escaping":"\u20ac$\\u000f\\nA\'B\\"\\\\\\\\\\"/","literals":[null,true,false],'
        '"numbers":[1e+30,4.5,333333333.3333333,0.002,1e-27]}',
    ),
    "weird": (
        '{\n  "\\u20ac": "Euro Sign",\n  "1": "One",\n  "\\u0080": "Control\\u007f",\n'
        '  "\\ud83d\\ude02": "Smiley",\n  "\\u00f6": "Latin Small Letter O With Diaeresis",\n'
        '  "\\ufb33": "Hebrew Letter Dalet With Dagesh",\n  "</script>": "Browser Challenge"\n}\n',
        '{"1":"One","</script>":"Browser Challenge","\u0080":"Control\u007f",'
        '"\u00f6":"Latin Small Letter O With Diaeresis","\u20ac":"Euro Sign",'
        '"\U0001f602":"Smiley","\ufb33":"Hebrew Letter Dalet With Dagesh"}',
    ),
}


@pytest.mark.parametrize("name", JCS_FILES)
def test_jcs_test_files(name: str) -> None:
    published, wanted = JCS_FILES[name]
    value = json.loads(published)
    assert rfc8785.dumps(value) == wanted.encode()
    if name in ("structures", "values"):  # they hold fractions, which are not ours
        return
    assert canonical(value) == wanted.encode()
    assert parse_canonical(wanted.encode()) == value


def test_members_sort_by_utf_16_units() -> None:
    """RFC 8785 section 3.2.3: a surrogate pair sorts before U+FB33, though its code is greater."""
    encoded = canonical({"\ufb33": 1, "\U0001f602": 2})
    assert encoded == '{"\U0001f602":2,"\ufb33":1}'.encode()
    assert parse_canonical(encoded)


# ---------------------------------------------------------------- our reader

texts = st.text(st.characters(exclude_categories=["Cs"]))
values = st.recursive(
    st.none() | st.booleans() | st.integers(-LARGEST, LARGEST) | texts,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=12,
)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(texts, values, max_size=4))
def test_the_quick_re_encoding_is_the_kept_librarys(value: dict[str, object]) -> None:
    encoded = rfc8785.dumps(value)  # type: ignore[arg-type]
    assert recode(value) == encoded  # type: ignore[arg-type]
    assert canonical(value) == encoded  # type: ignore[arg-type]
    assert parse_canonical(encoded) == value


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(texts, values, max_size=3), st.integers(0, 400), st.integers(0, 255))
def test_what_is_read_is_what_would_be_written(
    value: dict[str, object], at: int, byte: int
) -> None:
    """Whatever bytes are accepted, they are the one encoding of what was read."""
    content = bytearray(rfc8785.dumps(value))  # type: ignore[arg-type]
    content[at % len(content)] = byte
    try:
        again = parse_canonical(bytes(content))
    except ValueError:
        return
    assert canonical(again) == content


def _judged(reader: Callable[[bytes], object], content: bytes) -> object:
    try:
        return reader(content)
    except ValueError as bad:
        return str(bad)


def _both_readers_agree(content: bytes) -> None:
    assert _judged(parse_canonical, content) == _judged(parse_by_the_book, content)


@settings(max_examples=300, deadline=None)
@given(st.dictionaries(texts, values, max_size=3), st.integers(0, 400), st.binary(max_size=3))
def test_the_quick_reader_agrees_with_the_one_by_the_book(
    value: dict[str, object], at: int, put_in: bytes
) -> None:
    content = rfc8785.dumps(value)  # type: ignore[arg-type]
    at %= len(content)
    _both_readers_agree(content)
    _both_readers_agree(content[:at] + put_in + content[at + len(put_in) :])


def test_they_agree_on_every_letter_and_depth() -> None:
    """Each letter of the basic plane, as it is and escaped, as a text and as a name."""
    for letter in map(chr, range(0x10000)):
        quoted = json.dumps(letter)
        plain = json.dumps(letter, ensure_ascii=False).encode("utf-8", "surrogatepass")
        _both_readers_agree(b'{"a":' + plain + b"}")
        _both_readers_agree(b'{"a":' + quoted.encode() + b"}")
        _both_readers_agree(b'{"a":1,' + plain + b":2}")
    for deep in range(1, DEEPEST + 3):
        for inside in (b"", b"1", b"{}"):
            _both_readers_agree(b'{"a":' + b"[" * deep + inside + b"]" * deep + b"}")


@pytest.mark.parametrize(
    "content",
    [
        b"", b"null", b"5", b'"x"', b"[]", b"[1]", b"{", b"{}x", b"{} ", b" {}", b"\xef\xbb\xbf{}",
        b'{"a":1,"a":1}', b'{"b":1,"a":1}', b'{"a": 1}', b'{"a":1.0}', b'{"a":1e2}', b'{"a":-0}',
        b'{"a":NaN}', b'{"a":Infinity}', b'{"a":9007199254740992}', b'{"a":01}', b"{'a':1}",
        b'{"a":"\\u0041"}', b'{"a":"\\/"}', b'{"a":"\\u000A"}', b'{"a":"\t"}', b'{"a":"\xff"}',
        b'{"a":"\\ud800"}', b'{"a":"\xed\xa0\x80"}', b'{"a":tru}', b'{"a":"\x7f\\u007f"}',
        b'{"a":' + b"[" * 17 + b"]" * 17 + b"}", b'{"a":' * 5000 + b"1" + b"}" * 5000,
        b'{"a":' + b"9" * 5000 + b"}", b'{"a":1}\n', b'{"a":1,}', b'{"a":1}{"a":1}',
    ],
    ids=lambda content: repr(content[:24]),
)  # fmt: skip
def test_any_other_bytes_are_refused(content: bytes) -> None:
    with pytest.raises(ValueError):
        parse_canonical(content)


@pytest.mark.parametrize("value", [{"a": 1.0}, {1: "a"}, {"a": {1, 2}}, {"a": b"x"}, {"a": 2**53}])
def test_what_has_no_one_form_is_not_written(value: object) -> None:
    with pytest.raises(ValueError):
        canonical(value)  # type: ignore[arg-type]


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=80))
def test_base64url_round_trips(content: bytes) -> None:
    assert from_text(to_text(content)) == content


@pytest.mark.parametrize(
    "text", ["a", "ab=", "ab==", "a b", "ab\n", "a+b/", "YR", "YWJ", "é", "ab.c"]
)
def test_base64url_in_a_second_form_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        from_text(text)


def test_a_key_of_another_size_is_refused() -> None:
    with pytest.raises(SigningKeyError):
        make_key(b"short")
    assert isinstance(KEY.private, Ed25519PrivateKey)
