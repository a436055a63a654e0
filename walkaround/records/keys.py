"""Ed25519 keys as JSON Web Keys (RFC 7517, RFC 8037) and their thumbprints (RFC 7638).

A key is a device's.  Randomness and files are the caller's: 32 random bytes come in,
and what is to be stored goes out as bytes.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    KeySerializationEncryption,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)

from walkaround.errors import SigningKeyError
from walkaround.records.base64url import from_text, to_text
from walkaround.records.canonical import Json, parse_any_layout, recode

SEED_BYTES = 32
_FIELD = 2**255 - 19  # RFC 8032 section 5.1
_SIGN = 2**255
_EIGHTH = 0x7A03AC9277FDC74EC6CC392CFA53202A0F67100D760B3CBA4FD84D3D706A17C7
_SMALL_ORDER = frozenset({0, 1, _FIELD - 1, _EIGHTH, _FIELD - _EIGHTH})
"""The second coordinates of the eight points whose order divides eight."""


@dataclass(frozen=True, slots=True)
class PublicKey:
    """A public key: 32 bytes, `x` of RFC 8037 section 2."""

    x: bytes
    thumbprint: str = field(init=False, repr=False, compare=False)
    """SHA-256 over the key's required members in order, in base64url (RFC 7638, 8037)."""
    _verifier: Ed25519PublicKey | None = field(default=None, init=False, repr=False, compare=False)
    """The library's own object, from the first use on."""

    def __post_init__(self) -> None:
        # Once and not at each use: a trust list is searched for every record of an audit.
        thumbprint = to_text(hashlib.sha256(recode(self.jwk())).digest())
        object.__setattr__(self, "thumbprint", thumbprint)

    def __reduce__(self) -> tuple[type[PublicKey], tuple[bytes]]:
        return PublicKey, (self.x,)  # the library's own object goes to no other process

    def jwk(self) -> dict[str, Json]:
        return {"crv": "Ed25519", "kty": "OKP", "x": to_text(self.x)}

    def verifies(self, signature: bytes, message: bytes) -> bool:
        """Whether the signature over the message is by this key (RFC 8032 section 5.1.7)."""
        try:
            verifier = self._verifier or Ed25519PublicKey.from_public_bytes(self.x)
            object.__setattr__(self, "_verifier", verifier)
            verifier.verify(signature, message)
        except (InvalidSignature, ValueError):
            return False
        return True


@dataclass(frozen=True, slots=True, repr=False)
class SigningKey:
    """A private key; prints as its thumbprint and never as itself."""

    private: Ed25519PrivateKey

    @property
    def public(self) -> PublicKey:
        raw = self.private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
        return PublicKey(raw)

    @property
    def thumbprint(self) -> str:
        return self.public.thumbprint

    def __repr__(self) -> str:
        return f"SigningKey({self.thumbprint})"


def make_key(seed: bytes) -> SigningKey:
    """The key of 32 random bytes (RFC 8032 section 5.1.5). Raises SigningKeyError."""
    if len(seed) != SEED_BYTES:
        raise SigningKeyError(f"a key is made of {SEED_BYTES} random bytes, not {len(seed)}")
    return SigningKey(Ed25519PrivateKey.from_private_bytes(seed))


def public_key(jwk: Json) -> PublicKey:
    """The key of a public JWK with exactly `crv`, `kty` and `x`. Raises SigningKeyError."""
    if not isinstance(jwk, Mapping):
        raise SigningKeyError("a key must be a JSON object with crv, kty and x; export it again")
    if "d" in jwk:
        raise SigningKeyError("this is a private key; give the public one and keep this secret")
    if set(jwk) != {"crv", "kty", "x"}:
        raise SigningKeyError("a key must have crv, kty and x and nothing else; export it again")
    if (jwk["kty"], jwk["crv"]) != ("OKP", "Ed25519"):
        raise SigningKeyError("only Ed25519 keys (kty OKP, crv Ed25519) are used here")
    return PublicKey(_raw(jwk["x"]))


def parse_public(content: bytes) -> PublicKey:
    """The key of a public JWK file. Raises SigningKeyError."""
    try:
        jwk = parse_any_layout(content)
    except ValueError:
        raise SigningKeyError("this is not a key file (JSON Web Key); export it again") from None
    return public_key(jwk)


def _raw(text: Json) -> bytes:
    try:
        raw = from_text(text) if isinstance(text, str) else b""
    except ValueError:
        raw = b""
    if len(raw) != SEED_BYTES:
        raise SigningKeyError("the key's x is not 32 bytes in base64url; export it again")
    # A point of small order signs for everybody: some signature of noughts fits any text.
    # A coordinate of the field's size or more is a second way to write a key (RFC 8032
    # section 5.1.3, RFC 8725 section 3.4). The library lets both pass.
    y = int.from_bytes(raw, "little") % _SIGN
    if y >= _FIELD or y in _SMALL_ORDER:
        raise SigningKeyError("the key's x is no Ed25519 key that can be relied on; do not use it")
    return raw


def serialise_key(key: SigningKey, passphrase: bytes | None) -> bytes:
    """The private key as PKCS #8 PEM, encrypted unless `passphrase` is None.

    The library stretches the passphrase with PBKDF2 (2048 rounds) only: choose a long
    one.  A file encrypted with more rounds by another tool is read all the same.
    """
    if passphrase is not None and not passphrase:
        raise SigningKeyError("the passphrase is empty; choose one of several words")
    how: KeySerializationEncryption = (
        NoEncryption() if passphrase is None else BestAvailableEncryption(passphrase)
    )
    return key.private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, how)


def parse_key(content: bytes, passphrase: bytes | None) -> SigningKey:
    """The private key of a PKCS #8 PEM file.

    Raises SigningKeyError: locked, wrong passphrase, damaged, or not Ed25519.
    """
    try:
        private = load_pem_private_key(content, passphrase or None)
    except TypeError as bad:
        if passphrase:
            raise SigningKeyError("this key has no passphrase; give none") from bad
        raise SigningKeyError("this key is locked; give its passphrase") from bad
    except (ValueError, UnsupportedAlgorithm) as bad:
        raise SigningKeyError(
            "this key cannot be opened: the passphrase is wrong or the file is damaged; "
            "try again or restore it from your copy"
        ) from bad
    if not isinstance(private, Ed25519PrivateKey):
        raise SigningKeyError("this is not an Ed25519 key; make one with 'walkaround keys --make'")
    return SigningKey(private)
