"""Thresholds of another model are named before a walk begins."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from walkaround.devices.ear.child import EarSetup
from walkaround.devices.ear.fitness import unfit
from walkaround.devices.library import Library
from walkaround.devices.model.install import pinned_model


def test_the_shipped_thresholds_fit_the_pinned_model() -> None:
    assert unfit(EarSetup.of(Library(), Path("model")), pinned_model()) == ""


def test_another_model_is_named_and_what_to_do_about_it() -> None:
    other = replace(pinned_model(), name="another-model", files_sha256="00" * 32)
    said = unfit(EarSetup.of(Library(), Path("model")), other)
    assert "another-model" in said and "check every number" in said
