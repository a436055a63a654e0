"""The prompts that the program itself says, and the places each may fill. A table.

A phrase file must have every key, may fill only these places, and has no other key.
"""

from __future__ import annotations

_PLAIN = """
    cautions-general readback-yes readback-no
    unclear.again unclear.unit unclear.went-on waiting-quietly not-yet
    help help.yes-no help.number help.pair help.mark help.rise help.count help.hold
    explained-none previous-none corrected correction-none paused resumed stopped stopped-ask
    halted.pressure halted.moving halted.rising halted.vehicle
    unseen.pressure unseen.moving unseen.rising unseen.vehicle errand errand-return
    hold-broken rise-missed rise-broken microphone-lost samples-lost
    wording-shorter wording-longer verdict.near verdict.all-met verdict.some-met
    caution-lead
    where.cab where.left where.right where.front where.rear where.under where.engine where.around
    finish.stopped finish.disclaimer
"""

_FILLED = """
    greeting: title
    readback: value
    readback-pair: primary secondary
    readback-choice: option
    readback-count: number
    rise-done: count first last
    unclear.rivals: rivals
    unclear.range: low high unit
    help.choice: options
    previous: title
    redo: title
    withdrawn: title
    unable-taken: title
    need-not-met: title
    microphone-back: title
    repeat-next: number of
    doubt: what
    doubt-timed: what
    doubt-kept: what
    halted.findings: findings left
    verdict.not-met: about place value limit citation
    verdict.finding: about place citation
    verdict.explained-as: about place citation
    verdict.explained-not-as: about place citation
    verdict.met: place limit
    verdict.undetermined: place why
    verdict.near-repeat: repeats
    verdict.explained: about place value limit citation
    verdict.explained-near: chance
    verdict.explained-open: place value limit citation why
    interrupted: title
    finish.complete: findings left
"""

PLACES: dict[str, frozenset[str]] = {key: frozenset() for key in _PLAIN.split()} | {
    key.strip(): frozenset(places.split())
    for key, _, places in (line.partition(":") for line in _FILLED.strip().splitlines())
}
"""Prompt key -> the places that its text may fill."""
