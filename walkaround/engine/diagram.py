"""The state diagram of DEVELOPERS.md, drawn from the transition table itself.

The handlers decide where a move ends; `ENDS` says what each may decide, and a test
runs random walks to see that none ends anywhere else.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from types import MappingProxyType

from walkaround.engine import answers, commands, errand, going_on, outside, rising
from walkaround.engine.advance import TRANSITIONS, Handler
from walkaround.engine.state import Phase

HERE, NEXT = "here", "next"
"""HERE: the phase stays. NEXT: whatever the queue holds, a caution, an ask, a hold, a verdict,
or a gate that stays shut until the driver decided."""

NEXT_PHASES = frozenset(
    {
        Phase.CAUTION,
        Phase.ASKING,
        Phase.ERRAND,
        Phase.CALLING,
        Phase.HOLDING,
        Phase.JUDGING,
        Phase.STOPPED,
        Phase.DONE,
    }
)

ENDS: Mapping[Handler, tuple[str, ...]] = MappingProxyType(
    {
        outside.begin: (NEXT,),
        outside.reopen: (NEXT,),
        outside.judged: (NEXT,),
        outside.sound_lost: (HERE, NEXT),
        outside.microphone_lost: (Phase.PAUSED,),
        outside.microphone_back: (NEXT,),
        outside.ignored: (HERE,),
        errand.returned: (NEXT,),
        errand.told_again: (HERE,),
        errand.heard_again: (HERE,),
        errand.all_words: (HERE,),
        errand.begun_anew: (NEXT,),
        answers.take_answer: (NEXT,),
        going_on.went_on: (HERE, NEXT),
        answers.assent: (NEXT,),
        answers.no_assent: (HERE,),
        rising.take_call: (HERE, NEXT),
        answers.hold_ended: (HERE, NEXT),
        answers.not_taken: (HERE,),
        rising.candidate: (HERE,),
        answers.stayed_quiet: (HERE,),
        commands.repeat: (HERE,),
        commands.help_asked: (HERE,),
        commands.explain: (HERE,),
        commands.previous: (HERE,),
        commands.correction: (HERE, NEXT),
        commands.redo: (NEXT,),
        commands.unable: (NEXT,),
        commands.choices_again: (HERE,),
        commands.correction_at_a_halt: (HERE, NEXT),
        commands.shorter: (HERE,),
        commands.longer: (HERE,),
        commands.pause: (Phase.PAUSED,),
        commands.stop: (Phase.STOPPED,),
        commands.resume: (NEXT,),
        commands.finish: (Phase.DONE,),
        rising.finish_rise: (NEXT,),
        rising.rise_quiet: (HERE, NEXT),
        rising.unable_in_rise: (HERE, NEXT),
        commands.still_waiting: (HERE,),
        commands.not_now: (HERE,),
    }
)


def mermaid() -> str:
    """A Mermaid state diagram: one arrow for each phase and end, its triggers on it."""
    arrows: dict[tuple[Phase, str], list[str]] = defaultdict(list)
    for (phase, trigger), handler in TRANSITIONS.items():
        for end in ENDS[handler]:
            if end != HERE:
                arrows[(phase, end)].append(trigger)
    lines = ["stateDiagram-v2", "    state next <<choice>>", "    [*] --> closed"]
    for (phase, end), triggers in sorted(arrows.items()):
        lines.append(f"    {phase} --> {end}: {', '.join(sorted(triggers))}")
    lines += [f"    next --> {phase}" for phase in sorted(NEXT_PHASES)]
    lines.append("    done --> [*]")
    return "\n".join(lines)
