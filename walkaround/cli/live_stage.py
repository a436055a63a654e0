"""Voice and ear, opened: the model is fetched where it is not there yet."""

from __future__ import annotations

from walkaround.cli.screen import show
from walkaround.devices.ear.child import EarSetup
from walkaround.devices.library import Library
from walkaround.devices.model import decoding_folder, ensure_model
from walkaround.devices.stage_live import LiveStage, SoundChoice
from walkaround.devices.voice import Pyttsx3Voice


def live_stage(library: Library, sound: SoundChoice) -> LiveStage:
    """Whoever has it closes it. Raises MicrophoneError, RecogniserError, ModelError."""
    model = ensure_model(progress=show)
    setup = EarSetup.of(library, decoding_folder(model))
    stage = LiveStage(setup, Pyttsx3Voice(), show, sound)
    stage.open()
    return stage
