"""The progress page in Debian's Chromium: accessibility by axe, phone and desk, both colours."""

from __future__ import annotations

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from tests.browsing import VIEWS, Colours, browser
from tests.learning.test_progress_drawn import AT, drawn
from walkaround.learning.page import progress_page

__all__ = ["browser"]


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("progress") / "progress.html"
    path.write_bytes(progress_page([drawn()], ["Cut-in"], AT, "kim <b>"))
    return path


@pytest.mark.parametrize(("size", "colours"), VIEWS)
def test_accessibility(
    browser: Browser, file: Path, size: tuple[int, int], colours: Colours
) -> None:
    """axe-core's rules (WCAG 2 A and AA and its best practices): contrast, names, landmarks."""
    shown = browser.new_page(viewport={"width": size[0], "height": size[1]}, color_scheme=colours)
    shown.goto(file.as_uri())
    found = Axe().run(shown).response
    assert [rule["id"] for rule in found["violations"]] == []
    assert {"color-contrast", "svg-img-alt", "html-has-lang"} <= {r["id"] for r in found["passes"]}
    assert shown.evaluate("document.documentElement.scrollWidth") <= size[0]
    assert "right at once" in shown.locator("body").aria_snapshot()
    shown.close()


def test_it_prints(browser: Browser, file: Path) -> None:
    shown = browser.new_page()
    shown.goto(file.as_uri())
    assert shown.pdf(format="Letter")[:5] == b"%PDF-"
    shown.close()
