"""The page in Debian's Chromium: accessibility by axe, keyboard, both colours, nothing runs."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Dialog, Page

from tests.audit.auditing import audited
from tests.audit.fleets import Fleet, leaking_more, leaves_out
from tests.audit.test_audit_page import hostile, page
from tests.browsing import DESKTOP, PHONE, VIEWS, Colours, browser

__all__ = ["browser"]


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("browser")
    fleet = Fleet(
        habits={0: leaves_out("leak-applied")}, changes={1: leaking_more(0.6)}, drivers=8, walks=20
    )
    trust = fleet.write(folder / "tree")
    found = audited(folder / "tree", folder / "cache", trust, journals=False)
    path = folder / "audit.html"
    path.write_bytes(page(found, **{"a/record.jws": "it was changed"}))
    return path


def opened(browser: Browser, file: Path, size: tuple[int, int], colours: Colours) -> Page:
    shown = browser.new_page(viewport={"width": size[0], "height": size[1]}, color_scheme=colours)
    shown.goto(file.as_uri())
    return shown


@pytest.mark.parametrize(("size", "colours"), VIEWS)
def test_accessibility(
    browser: Browser, file: Path, size: tuple[int, int], colours: Colours
) -> None:
    """axe-core's rules (WCAG 2 A and AA and its best practices): contrast, names, landmarks."""
    shown = opened(browser, file, size, colours)
    found = Axe().run(shown).response
    assert [rule["id"] for rule in found["violations"]] == []
    assert {"color-contrast", "svg-img-alt", "html-has-lang"} <= {r["id"] for r in found["passes"]}
    width = shown.evaluate("document.documentElement.scrollWidth")
    assert width <= size[0]  # only the tables scroll sideways
    shown.close()


def test_the_keyboard_reaches_every_link_and_every_table(browser: Browser, file: Path) -> None:
    shown = opened(browser, file, PHONE, "light")
    wanted = shown.locator("a, [tabindex='0']").count()
    reached = set()
    for _ in range(wanted + 5):
        shown.keyboard.press("Tab")
        reached.add(
            shown.evaluate(
                "[...document.querySelectorAll('a, [tabindex=\"0\"]')]"
                ".indexOf(document.activeElement)"
            )
        )
    assert reached >= set(range(wanted))
    shown.close()


def test_headings_and_landmarks_for_a_screen_reader(browser: Browser, file: Path) -> None:
    shown = opened(browser, file, DESKTOP, "light")
    levels = shown.eval_on_selector_all("h1,h2,h3", "all => all.map(h => +h.tagName[1])")
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    assert shown.locator("main").count() == 1
    assert shown.locator("nav[aria-label]").count() == 1
    tree = shown.locator("body").aria_snapshot()
    assert "img" in tree and "table" in tree and "heading" in tree
    shown.close()


def test_it_prints(browser: Browser, file: Path) -> None:
    shown = opened(browser, file, DESKTOP, "light")
    assert shown.pdf(format="Letter")[:5] == b"%PDF-"
    shown.close()


def test_nothing_in_a_record_runs(browser: Browser, tmp_path: Path) -> None:
    """Hostile names, titles and file names; the page's own policy is left out of the proof by a
    second run without it."""
    content = page(hostile(tmp_path), **{"<script>document.title='ran'</script>": "x"})
    bare = content.replace(b"default-src 'none'", b"default-src * 'unsafe-inline'")
    assert bare != content
    for name, body in (("kept.html", content), ("bare.html", bare)):
        file = tmp_path / name
        file.write_bytes(body)
        assert ran(browser, file) == ("Air-brake checks: audit", [], [file.as_uri()], 0)


def ran(browser: Browser, file: Path) -> tuple[str, list[str], list[str], int]:
    """(title, dialogs, what was asked for, scripts in it) once the page has stood for a while."""
    shown = browser.new_page()
    dialogs: list[str] = []
    asked: list[str] = []

    def refuse(dialog: Dialog) -> None:
        dialogs.append(dialog.message)
        dialog.dismiss()

    shown.on("dialog", refuse)
    shown.on("request", lambda request: asked.append(request.url))
    shown.goto(file.as_uri())
    shown.wait_for_timeout(200)
    found = (shown.title(), dialogs, asked, shown.locator("script").count())
    shown.close()
    return found
