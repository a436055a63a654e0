"""Were the ear's thresholds measured with the very model that it hears with?"""

from __future__ import annotations

from walkaround.devices.ear.child import EarSetup
from walkaround.devices.model.manifest import Manifest
from walkaround.speech.thresholds import load_thresholds


def unfit(setup: EarSetup, model: Manifest) -> str:
    """A sentence when they were not, else "". The model's files were checked against the
    manifest when the model was found, so that its hash stands for them."""
    thresholds = load_thresholds(setup.thresholds.content, setup.thresholds.file)
    if thresholds.fits(model.files_sha256):
        return ""
    return (
        f"How sure the ear must be was not measured with {model.name}:"
        " expect more mistakes, and check every number that is said back."
    )
