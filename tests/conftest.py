"""Shared test set-up: the flag for long runs, and where the human recordings are."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("untimed", deadline=None)  # a busy machine is no failure
settings.load_profile("untimed")

ROOT = Path(__file__).resolve().parent.parent


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--slow", action="store_true", help="run the minutes-long tests too")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--slow"):
        return
    for item in items:
        if "slow" in item.keywords:
            item.add_marker(pytest.mark.skip(reason="minutes long: run with --slow"))


@pytest.fixture(scope="session")
def speech_data() -> Path:
    """The folder of human recordings, or a skip that says so."""
    named = os.environ.get("WALKAROUND_SPEECH_DATA")
    folder = Path(named) if named else ROOT.parent / "shared" / "speech"
    if not folder.is_dir():
        pytest.skip(f"no human recordings at {folder} (set WALKAROUND_SPEECH_DATA)")
    return folder
