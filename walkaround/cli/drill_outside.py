"""What a drill is held through: typed, or voice and ear with the same live screen as a walk's."""

from __future__ import annotations

import argparse
from contextlib import ExitStack

from rich.console import Console

from walkaround.cli.live_screen import screen_for
from walkaround.cli.live_stage import live_stage
from walkaround.cli.screen import show
from walkaround.cli.stopping import StoppableStage, StopSignals
from walkaround.devices.library import Library
from walkaround.devices.stage_live import SoundChoice
from walkaround.devices.stage_typed import TypedStage
from walkaround.procedure.model import Plan
from walkaround.speech import ports

MAY_SAY = "help  explain  repeat  finding  finish  stop"


def outside_of(arguments: argparse.Namespace, plan: Plan, held: ExitStack) -> ports.Stage:
    """The stage, closed with `held`. Ctrl-C and its like end the input: what was practised until
    then is kept and counts. Raises MicrophoneError, RecogniserError, ModelError."""
    stage = _typed() if arguments.typed else _live(arguments)
    held.callback(stage.close)
    screen = screen_for(stage, plan, Console(), quiet=arguments.quiet, always=MAY_SAY)
    if screen is not None:
        stage = held.enter_context(screen)
    return StoppableStage(stage, held.enter_context(StopSignals()))


def _typed() -> ports.Stage:
    return TypedStage(show, hints=False)


def _live(arguments: argparse.Namespace) -> ports.Stage:
    sound = SoundChoice(
        arguments.microphone, arguments.loudspeaker, barge_in=not arguments.open_loudspeaker
    )
    return live_stage(Library(), sound)
