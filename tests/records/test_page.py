"""The page: self-contained, escaped, complete, and honest about what it shows."""

from __future__ import annotations

import itertools
import json
import re
from html.parser import HTMLParser
from typing import Any
from xml.etree import ElementTree

import pytest

from tests.records.walk_sample import KEY, RISE_POINTS, journal
from walkaround.errors import RecordError
from walkaround.records.curve import called_out, curve
from walkaround.records.journal import read_journal
from walkaround.records.markup import element, plain
from walkaround.records.page import page_of
from walkaround.records.signature import WalkKind
from walkaround.records.summary import summarise
from walkaround.records.wording import NOT_PROVEN

SUMMARY = summarise(read_journal(journal()), KEY.public.jwk())
PAGE = page_of(SUMMARY, signed=True).decode()
VOID = {"meta", "br", "hr", "img", "input", "link"}


class _Reader(HTMLParser):
    """Every tag with its attributes and the open tags around it; refuses a wrong nesting."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.text.append(data)


def _read(page: str) -> _Reader:
    reader = _Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    return reader


def test_it_is_well_formed_with_a_language_and_a_title() -> None:
    reader = _read(PAGE)
    tags = [tag for tag, _ in reader.tags]
    assert ("html", {"lang": "en"}) in reader.tags
    assert "<title>Air-brake check</title>" in PAGE
    assert tags.count("h1") == 1
    headings = [int(tag[1]) for tag in tags if re.fullmatch(r"h\d", tag)]
    assert all(after - before <= 1 for before, after in itertools.pairwise(headings))


def test_it_fetches_and_runs_nothing() -> None:
    reader = _read(PAGE)
    assert not {"script", "link", "img", "iframe", "form", "object"} & {t for t, _ in reader.tags}
    for _, attributes in reader.tags:
        assert not {"src", "href", "style", "srcset", "action"} & set(attributes)
        assert not [name for name in attributes if name.startswith("on")]
    assert "default-src 'none'" in PAGE
    assert "url(" not in PAGE
    assert "@import" not in PAGE


def test_every_picture_is_named_and_has_its_table() -> None:
    reader = _read(PAGE)
    ids = {attributes.get("id") for _, attributes in reader.tags}
    pictures = [attributes for tag, attributes in reader.tags if tag == "svg"]
    assert len(pictures) == 1
    assert pictures[0]["role"] == "img"
    assert set(str(pictures[0]["aria-labelledby"]).split()) <= ids
    text = " ".join(reader.text)
    for _, value in RISE_POINTS:
        assert value in text
    assert "46.0 s" in text  # 106.0 - 60.0


def test_every_table_has_a_caption_and_headings() -> None:
    tags = [tag for tag, _ in _read(PAGE).tags]
    assert tags.count("table") == tags.count("caption") == tags.count("thead")
    assert all("scope" in attributes for tag, attributes in _read(PAGE).tags if tag == "th")


def test_it_says_what_was_found_and_what_it_is_not_worth() -> None:
    text = " ".join(_read(PAGE).text)
    for wanted in (
        "131.2 s",
        "at most 120 s",
        "Ontario, Air Brake Handbook, chapter 9",
        "not met",
        "cut-out was not read",
        "near the limit",
        "minor",
        "Looking round: the driver could not do it",
        "Interrupted 1 times",
        "said before: 105 psi, 100 psi",
        "“one ten one hundred”",
        "does not license",
        *NOT_PROVEN,
    ):
        assert wanted in text, wanted


@pytest.mark.parametrize("kind", WalkKind)
def test_what_was_no_real_walk_says_so_first(kind: WalkKind) -> None:
    summary = summarise(read_journal(journal(kind)), KEY.public.jwk())
    text = [part for part in _read(page_of(summary, signed=True).decode()).text if part.strip()]
    first = text[1]  # after the title
    assert first == ("Air-brake check" if kind is WalkKind.WALK else kind.value.upper())


def test_an_unsigned_page_says_so() -> None:
    page = page_of(summarise(read_journal(journal(key=None)), None), signed=False).decode()
    assert "Not signed yet" in page
    assert "Nothing yet: it is not signed." in page
    assert "Not signed yet" not in PAGE


def test_it_never_calls_a_vehicle_fit() -> None:
    text = " ".join(_read(PAGE).text).lower()
    for sentence in re.split(r"[.:;]", text):
        if re.search(r"\b(safe|roadworthy|fit for|approved|passed|certif\w+)\b", sentence):
            assert "not" in sentence.split(), sentence


# ---------------------------------------------------------------- injection

EVIL = "</td></table><script>alert(1)</script>\"'><img src=x onerror=alert(1)>&\u202e501\x00\x07"


def _poisoned(value: Any) -> Any:
    """Every text that is free to be anything, made hostile; the names of things are kept."""
    fixed = {"format", "disclaimer", "walk", "outcome"}
    if isinstance(value, dict):
        return {key: inner if key in fixed else _poisoned(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_poisoned(inner) for inner in value]
    return value + EVIL if isinstance(value, str) else value


def test_hostile_text_in_every_member_stays_text() -> None:
    page = page_of(_poisoned(json.loads(json.dumps(SUMMARY))), signed=True).decode()
    clean, evil = _read(PAGE), _read(page)
    assert {tag for tag, _ in evil.tags} <= {tag for tag, _ in clean.tags}
    assert not {"script", "img"} & {tag for tag, _ in evil.tags}
    assert not [name for _, attributes in evil.tags for name in attributes if name[:2] == "on"]
    assert "\u202e" not in page
    assert "\x00" not in page
    assert page.count("&lt;script&gt;alert(1)&lt;/script&gt;") > 20


def test_hostile_names_of_members_stay_text() -> None:
    summary = {**SUMMARY, "vehicle": {EVIL: EVIL}, "particulars": {EVIL: EVIL}}
    page = page_of(summary, signed=True).decode()
    assert "<script" not in page
    assert page.count("&lt;script&gt;") == 3


def test_attributes_are_escaped() -> None:
    assert element("p", "<b>", title='"><b>') == '<p title="&quot;&gt;&lt;b&gt;">&lt;b&gt;</p>'
    assert plain(element("p", "x")) == "<p>x</p>"


@pytest.mark.parametrize("member", [name for name in SUMMARY if name not in ("key",)])
def test_a_summary_without_a_member_is_refused(member: str) -> None:
    with pytest.raises(RecordError, match=member):
        page_of({k: v for k, v in SUMMARY.items() if k != member}, signed=True)


# ---------------------------------------------------------------- the curve


def test_the_curve_is_drawn_to_scale() -> None:
    """Points at 0, 10 and 20 s of 60, 80 and 100 psi lie evenly on one line."""
    drawn = curve("Rise", ((5000, "60 psi"), (15000, "80 psi"), (25000, "100 psi")), "a")
    picture = ElementTree.fromstring(drawn[drawn.index("<svg") : drawn.index("</svg>") + 6])
    line = picture.find("polyline")
    assert line is not None
    dots = [tuple(map(float, dot.split(","))) for dot in line.attrib["points"].split()]
    assert dots == [(64.0, 272.0), (344.0, 144.0), (624.0, 16.0)]
    assert all(0 <= x <= 640 and 0 <= y <= 320 for x, y in dots)


@pytest.mark.parametrize(
    "points",
    [
        ((0, "60 psi"),),
        ((0, "60 psi"), (0, "80 psi")),
        ((0, "60 psi"), (900, "60 psi")),
        ((0, "no number"), (900, "60 psi")),
        ((0, "60 psi"), (900, "6 bar")),
    ],
)
def test_where_there_is_no_line_there_is_only_the_table(points: Any) -> None:
    assert "<svg" not in curve("Rise", points, "a")
    assert "<table" in curve("Rise", points, "a")


@pytest.mark.parametrize("high", ["61 psi", "60.001 psi", "9999999999 psi", "-40 psi"])
def test_any_span_gives_few_ticks_inside_the_picture(high: str) -> None:
    drawn = curve("Rise", ((0, "60 psi"), (86_400_000, high)), "a")
    assert 4 <= drawn.count('class="grid"') <= 22


def test_called_out_counts_from_the_first_call() -> None:
    assert [str(seconds) for seconds, _ in called_out(RISE_POINTS)] == ["0", "15.5", "31", "46"]
