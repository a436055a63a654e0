"""Where the model and the human recordings are, for tests and benchmarks that need them."""

from __future__ import annotations

import os
from pathlib import Path

from walkaround.devices.model import present_model
from walkaround.devices.model.install import pinned_model

ROOT = Path(__file__).resolve().parents[2]


def model_folder() -> Path | None:
    """The model the program itself would use (WALKAROUND_MODEL names another place), or None."""
    return present_model(pinned_model())


def speech_folder() -> Path | None:
    """The folder named by WALKAROUND_SPEECH_DATA, else ../shared/speech, else None."""
    named = os.environ.get("WALKAROUND_SPEECH_DATA")
    folder = Path(named) if named else ROOT.parent / "shared" / "speech"
    return folder if (folder / "an4" / "readings.tsv").is_file() else None
