"""Debian's Chromium for the pages' tests: one browser a module, in the views people have."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from typing import Literal

import pytest
from playwright.sync_api import Browser, sync_playwright

DESKTOP, PHONE = (1280, 900), (390, 844)
Colours = Literal["light", "dark"]
VIEWS: list[tuple[tuple[int, int], Colours]] = [
    (DESKTOP, "light"), (DESKTOP, "dark"), (PHONE, "light"), (PHONE, "dark"),
]  # fmt: skip


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        pytest.skip("no Chromium on this machine (Debian's package is 'chromium')")
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(
            executable_path=path, args=["--no-sandbox"] if root else []
        )
        yield launched
        launched.close()
