"""The page as text: nothing in a record can become markup, every claim has its links."""

from __future__ import annotations

import random
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.audit.auditing import Audited, audited
from tests.audit.fleets import Fleet, key_of, leaking_more, leaves_out, signed, template, variant
from walkaround.audit.page import Files, page_of
from walkaround.audit.picture import Plot, bars, scatter
from walkaround.audit.wording import chance_text, day, percent
from walkaround.records.keys import make_key
from walkaround.records.signature import WalkKind
from walkaround.records.trust import TrustedKey, TrustList

HOSTILE = (
    "</title><script>document.title='ran'</script><img src=x onerror=\"document.title='ran'\">'"
)
"""A name that would run in a page that does not escape it."""


class Tags(HTMLParser):
    """Every tag with its attributes, and all of the text."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(page.decode())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def page(found: Audited, **listed: str) -> bytes:
    rows = [(path, 1, "refused", why) for path, why in listed.items()]
    return page_of(found.audits, Files(found.looked, rows), found.refs, lambda ref: f"./{ref.walk}")


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Audited:
    folder = tmp_path_factory.mktemp("page")
    fleet = Fleet(
        habits={0: leaves_out("leak-applied")}, changes={1: leaking_more(0.6)}, drivers=8, walks=20
    )
    trust = fleet.write(folder / "tree")
    return audited(folder / "tree", folder / "cache", trust, journals=False)


def hostile(folder: Path) -> Audited:
    """A fleet in which every text that a record or a trust list holds is hostile."""
    key = make_key(bytes(32))
    trust = TrustList((TrustedKey(key.public, (WalkKind.WALK,), HOSTILE, ""),))
    for number in range(14):
        began = f"2026-01-{number + 1:02}T06:00:00Z"
        payload = variant(template(), {}, id=f"{HOSTILE} {number}", began=began)
        payload["vehicle"] = {"name": HOSTILE}
        payload["key"] = key.public.jwk()
        payload["script"] = HOSTILE
        for step in payload["steps"]:
            step["title"] = HOSTILE
            for verdict in step.get("verdicts", ()):
                if payload["rules"][verdict["rule"]]["measure"] == "loss-applied":
                    verdict["value"] = f"{number} psi/min"
        leaves_out("leak-listened").record(payload, random.Random(1))
        payload["findings"].append({"step": "air-lines-look", "ask": "sound"})
        at = folder / "tree" / f"{number}"
        at.mkdir(parents=True)
        (at / "record.jws").write_bytes(signed(payload, key))
    return audited(folder / "tree", folder / "cache", trust)


def test_every_claim_is_one_click_from_its_records(found: Audited) -> None:
    read = Tags(page(found))
    hrefs = {attrs.get("href") for tag, attrs in read.tags if tag == "a"}
    assert found.looks
    for look in found.looks:
        assert {f"./{walk}" for walk in look.walks} <= hrefs
        assert look.says in re.sub(r"\s+", " ", read.text)


def test_there_is_nothing_to_run_or_fetch(found: Audited) -> None:
    content = page(found)
    read = Tags(content)
    never = {"script", "iframe", "object", "embed", "link", "form", "img"}
    assert not never & {tag for tag, _ in read.tags}
    for tag, attrs in read.tags:
        assert not any(name.startswith("on") for name in attrs), tag
        for name in ("src", "href", "action"):
            assert not re.match(r"\s*(\w+:|//)", attrs.get(name) or "")
    assert b"default-src 'none'" in content
    assert b"http" not in content.replace(b"http-equiv", b"")


def test_every_picture_has_a_table(found: Audited) -> None:
    tags = [tag for tag, _ in Tags(page(found)).tags]
    pictures = [at for at, tag in enumerate(tags) if tag == "svg"]
    assert len(pictures) >= 2
    for at, following in zip(pictures, [*pictures[1:], len(tags)], strict=True):
        assert "table" in tags[at:following]


def test_nothing_in_a_record_becomes_markup(tmp_path: Path) -> None:
    found = hostile(tmp_path)
    assert {look.sort for look in found.looks} >= {"recurring"}
    content = page(found, **{HOSTILE: HOSTILE})
    read = Tags(content)
    assert not {"script", "img"} & {tag for tag, _ in read.tags}
    assert "onerror" in read.text  # it is all there, as text
    assert content.count(b"<title") == content.count(b"</title>")


def test_an_audit_of_nothing_has_a_page(tmp_path: Path) -> None:
    (tmp_path / "tree").mkdir()
    empty = audited(tmp_path / "tree", tmp_path / "cache", TrustList())
    assert "no record by a trusted key" in Tags(page(empty)).text


def test_pictures_bear_odd_numbers() -> None:
    flat = Plot("t", "d", "s", [(0, 5.0), (1, 5.0)], ((0, 5.0), (1, 5.0)), 5.0, ("a", "b"))
    assert "NaN" not in scatter(flat, "x") and "<svg" in scatter(flat, "x")
    none = Plot("t", "d", "s", [(0, 0.0), (0, 0.0)], ((0, 0.0), (0, 0.0)), None, ("a", "b"))
    assert "nan" not in scatter(none, "y").lower()
    assert "<rect" in bars("t", "d", [("<b>", 0.0, "0 %")], "z")
    assert "&lt;b&gt;" in bars("t", "d", [("<b>", 0.0, "0 %")], "z")


def test_words_for_numbers() -> None:
    assert day(1767225600000) == "2026-01-01"
    assert day(-1) == day(1e20) == "no date"
    assert (percent(0.37), percent(0.001)) == ("37 %", "0.1 %")
    assert chance_text(1e-9) == "under one in a million"
    assert key_of(1).thumbprint != key_of(2).thumbprint
