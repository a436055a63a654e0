"""One broken file for each mistake: the error names file, line and key, and what to do."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.procedure.shipped import files, profile, script
from walkaround.errors import ScriptError
from walkaround.procedure.check import check_plan, check_script
from walkaround.procedure.load import load_script


@dataclass(frozen=True)
class Mistake:
    """`was` becomes `now` in `file`; the error is at the first line of `now` plus `below`."""

    name: str
    file: str
    was: str
    now: str
    key: str
    says: str
    below: int = 0


REFUSED_ON_LOADING = (
    Mistake("a halt with no answer that is right", "steps/2-look.yaml",
            "        good: [yes]\n        halt: pressure\n", "        halt: pressure\n", "halt",
            "needs 'good'"),
    Mistake("unknown key", "steps/1-start.yaml", "    where: cab\n    seconds: [10, 10, 300]",
            "    were: cab\n    seconds: [10, 10, 300]", "where", "'where' is missing"),
    Mistake("misspelt optional key", "steps/1-start.yaml", "        stake: caution\n",
            "        stakes: caution\n", "stakes", "not a key I know"),
    Mistake("duplicate key", "steps/2-look.yaml", "    title: Couplings\n",
            "    title: Couplings\n    title: Couplings\n", "title", "twice", 1),
    Mistake("two cards of one name", "steps/9-moving.yaml", "  sum-up:\n", "  cut-in:\n",
            "", "stands in steps/6-leakage.yaml", 1),
    Mistake("unknown step in the order", "bus.yaml", "  - door-interlock\n",
            "  - door-interlok\n", "order", "no step card 'door-interlok'"),
    Mistake("a step twice in the order", "bus.yaml", "  - cut-in\n",
            "  - cut-out\n", "order", "comes twice", 1),
    Mistake("unknown kind of answer", "steps/2-look.yaml", "        kind: number\n",
            "        kind: nummer\n", "kind", "must be one of"),
    Mistake("a choice of one", "steps/3-reservoirs.yaml",
            "        options: [nothing, drops, water, oil]\n        good: [nothing, drops]\n",
            "        options: [nothing]\n        good: [nothing]\n", "options", "at least two"),
    Mistake("a good answer that cannot come", "steps/6-leakage.yaml", "        good: [no]\n",
            "        good: [maybe]\n", "good", "never be the answer"),
    Mistake("a fact nobody knows", "steps/2-look.yaml", "    when: {trailers: [\"2\"]}\n",
            "    when: {trailer: [\"2\"]}\n", "trailer", "no fact"),
    Mistake("a fact with no such value", "steps/2-look.yaml", "    when: {trailers: [\"2\"]}\n",
            "    when: {trailers: [two]}\n", "trailers", "cannot be"),
    Mistake("a measure for a place that is no code", "steps/7-stroke.yaml",
            "reading: stroke, only: [US]", "reading: stroke, only: [usa]", "only",
            "is no code such as US or CA-ON"),
    Mistake("a place that is no code", "steps/7-stroke.yaml",
            "    when: {places: [CA-BC, CA-NL, CA-SK]}\n",
            "    when: {places: [Newfoundland]}\n", "places", "no code"),
    Mistake("calls that fall", "steps/8-low.yaml", "        calls: [50, 85, 90, 100]\n",
            "        calls: [100, 90, 85, 50]\n", "calls", "rising"),
    Mistake("seconds that fall", "steps/1-start.yaml", "seconds: [10, 10, 300]",
            "seconds: [300, 10, 10]", "seconds", "must rise"),
    Mistake("a number in words", "steps/6-leakage.yaml", "        seconds: 60\n",
            "        seconds: sixty\n", "seconds", "whole number"),
    Mistake("no wording for the cue", "steps/1-start.yaml", "        cue: Key out?\n", "",
            "cue", "'cue' is missing"),
    Mistake("a step that asks nothing", "steps/9-moving.yaml", "steps:\n",
            "steps:\n  wait:\n    title: Wait\n    where: cab\n    seconds: [1, 1, 1]\n",
            "asks", "nothing is asked", 1),
    Mistake("a measure that rests on nothing", "steps/8-low.yaml",
            "rests-on: [flow-to-rear.supply-blows", "rests-on: [flow-to-rear.supply-blow",
            "rests-on", "which nobody asks"),
    Mistake("a halt that no phrase is for", "steps/2-look.yaml", "        halt: pressure\n",
            "        halt: yes\n", "halt", "must be one of pressure, moving"),
    Mistake("not YAML", "steps/1-start.yaml", "    where: cab\n", "    where: : cab\n",
            "", "not readable as YAML"),
)  # fmt: skip

FOUND_BY_THE_CHECKER = (
    Mistake("a hold with no limit", "steps/6-leakage.yaml",
            "        kind: hold\n        seconds: 60\n        after: start\n",
            "        kind: hold\n        after: start\n", "seconds", "no limit", -1),
    Mistake("a mark with no limit", "steps/4-climb.yaml",
            "        kind: mark\n        seconds: 600\n", "        kind: mark\n",
            "seconds", "no limit", -1),
    Mistake("a hold after nothing", "steps/6-leakage.yaml", "        after: start\n",
            "        after: begin\n", "after", "no earlier question"),
    Mistake("a hazard with no caution: springs off", "steps/4-climb.yaml",
            "    caution: Chocks in place, foot on the pedal?\n", "", "caution",
            "releases the parking brakes"),
    Mistake("a hazard with no caution: springs on", "steps/8-low.yaml",
            "    caution: All spring brakes snap on now. Everyone clear of every wheel?\n", "",
            "caution", "snap on"),
    Mistake("a hazard with no caution: lines apart", "steps/5-trailer.yaml",
            "    caution: The coupling blows and the hose kicks. Do you hold it firmly,"
            " and do you look away from it?\n", "",
            "caution", "parts the air lines"),
    Mistake("a hazard with no caution: rolling", "steps/9-moving.yaml",
            "    caution: Walking pace. Belt on, clear all round?\n", "", "caution",
            "pulls or rolls"),
    Mistake("a hazard with no caution: an act", "acts/acts.yaml",
            "    caution: Neutral, everyone clear of wheels and belts?\n", "", "caution",
            "starts the engine"),
    Mistake("a prompt too long to hear", "steps/1-start.yaml", "        cue: Key out?\n",
            "        cue: " + "Key out? " * 6 + "\n", "cue", "too long to hear"),
    Mistake("a caution too long to hear", "steps/2-look.yaml",
            "    caution: Couplings can blow. Hands out of their faces?\n",
            "    caution: " + "Hands out of the coupling faces. " * 4 + "Clear?\n", "caution",
            "too long to hear"),
    Mistake("a step for two that does not call the helper", "steps/6-leakage.yaml",
            '      - {helper: "yes"}\n', "", "people", "takes 2 people"),
    Mistake("a caution that asks with a no in it", "steps/2-look.yaml",
            "    caution: Couplings can blow. Hands out of their faces?\n",
            "    caution: Couplings can blow. Nobody near them?\n", "caution",
            "yes could mean either"),
    Mistake("a caution that asks nothing", "steps/2-look.yaml",
            "    caution: Couplings can blow. Hands out of their faces?\n",
            "    caution: Hands out of the coupling faces.\n", "caution",
            "does not end with a question"),
    Mistake("a prompt that answers itself", "steps/1-start.yaml", "        cue: Everyone clear?\n",
            "        cue: Say yes\n", "cue", "answer word 'yes'"),
    Mistake("a judge's input that nobody asks", "steps/6-leakage.yaml",
            "cut_out: cut-out-first.reading", "cut_out: cut-out-first.nachher",
            "cut_out", "which nobody asks"),
    Mistake("a measure that nobody forms", "steps/6-leakage.yaml",
            "measure: loss-released", "measure: loss-relased", "measure", "no measure"),
    Mistake("an input that the measure has not", "steps/6-leakage.yaml",
            "        end: end\n", "        last: end\n", "measure", "needs", -4),
    Mistake("a state that does not exist", "steps/2-look.yaml",
            "      - {engine: \"off\"}\n      - {key: \"off\"}\n",
            "      - {motor: \"off\"}\n      - {key: \"off\"}\n", "motor", "no state"),
    Mistake("a value that does not exist", "steps/4-climb.yaml",
            "    leaves: {key: \"on\"}\n", "    leaves: {key: turned}\n", "leaves",
            "can be off, on"),
    Mistake("a place that is not at the vehicle", "steps/5-trailer.yaml", "    where: rear\n",
            "    where: roof\n", "where", "none of"),
    Mistake("a word nobody defines", "steps/1-start.yaml", "Are all the chocks in place?",
            "Are the {chocs} in place?", "full", "{chocs}"),
    Mistake("a pressure in one unit only", "acts/acts.yaml",
            "        cue: Above {100 psi | 690 kPa | 6.9 bar}?\n",
            "        cue: Above {100 psi | 690 kPa}?\n", "cue", "psi, kPa and bar"),
    Mistake("a reading with no expectation", "steps/6-leakage.yaml",
            "    leaves: {pressure: over-100}\n    asks:\n      - id: before\n",
            "    asks:\n      - id: before\n", "sets", "expected", 3),
    Mistake("an act that restores nothing", "acts/acts.yaml",
            "    leaves: {drains: closed}\n", "", "", "restore nothing", -12),
    Mistake("underneath with the engine running", "acts/acts.yaml",
            "      - {engine: \"off\"}\n    leaves: {drains: closed}\n",
            "    leaves: {drains: closed}\n", "needs", "does not need 'engine: off'", -3),
    Mistake("chocks that hang on a place", "steps/3-reservoirs.yaml",
            "      - {chocks: in}\n", "      - chocks: in\n        when: {places: [US]}\n", "needs",
            "does not need 'chocks: in' by itself", -1),
)  # fmt: skip


def broken(mistake: Mistake) -> tuple[dict[str, bytes], int]:
    """The files with the mistake in, and the line where it is."""
    text = files()[mistake.file].decode()
    assert mistake.was in text, f"{mistake.name}: the shipped file has changed"
    at = text.index(mistake.was)
    changed = text[:at] + mistake.now + text[at + len(mistake.was) :]
    line = text.count("\n", 0, at) + 1 + mistake.below
    return {**files(), mistake.file: changed.encode()}, line


def scripts_with(mistake: Mistake) -> str:
    return "bus" if mistake.file == "bus.yaml" else "tractor-trailer"


def points_at(mistake: Mistake, changed: dict[str, bytes], error: ScriptError, line: int) -> bool:
    """At the key itself where it is written, else inside the card that lacks it."""
    written = changed[mistake.file].decode().splitlines()[error.line - 1]
    if mistake.key and f"{mistake.key}:" in mistake.now:
        return f"{mistake.key}:" in written and abs(error.line - line) <= 3
    return abs(error.line - line) <= 12


@pytest.mark.parametrize("mistake", REFUSED_ON_LOADING, ids=lambda m: m.name)
def test_a_broken_file_is_refused(mistake: Mistake) -> None:
    changed, line = broken(mistake)
    with pytest.raises(ScriptError) as caught:
        load_script(scripts_with(mistake), changed)
    error = caught.value
    assert error.file == mistake.file
    assert mistake.says in str(error)
    assert error.key == mistake.key
    assert points_at(mistake, changed, error, line), (error.line, line)
    assert str(error).startswith(f"{mistake.file}, line {error.line}: ")


@pytest.mark.parametrize("mistake", FOUND_BY_THE_CHECKER, ids=lambda m: m.name)
def test_a_mistake_is_found_by_the_checker(mistake: Mistake) -> None:
    changed, line = broken(mistake)
    errors = check_script(load_script(scripts_with(mistake), changed))
    assert len(errors) >= 1, mistake.name
    found = [e for e in errors if mistake.says in str(e) and e.key == mistake.key]
    assert found, [str(e) for e in errors]
    assert found[0].file == mistake.file
    assert points_at(mistake, changed, found[0], line), (found[0].line, line)


def test_an_unreachable_step_is_found() -> None:
    changed = files()
    acts = changed["acts/acts.yaml"].decode()
    start, end = acts.index("  stop-engine:"), acts.index("  key-out:")
    kept = acts[:start] + acts[end:].replace('engine: "off", key: "off"', 'key: "off"')
    changed["acts/acts.yaml"] = kept.encode()
    loaded = load_script("straight-truck", changed)
    errors = check_plan(loaded, profile("demo-truck"), ["US"])
    assert [error.file for error in errors][:1] == ["steps/6-leakage.yaml"]
    assert "'leak-released' cannot be reached" in str(errors[0])
    assert errors[0].key == "needs"


def test_a_question_twice_for_one_vehicle_is_found() -> None:
    changed = files()
    text = changed["steps/8-low.yaml"].decode()
    changed["steps/8-low.yaml"] = text.replace(
        "        unless: {places: [CA-BC, CA-AB, CA-NL, CA-QC, CA-ON]}\n", ""
    ).encode()
    errors = check_plan(load_script("bus", changed), profile("demo-bus"), ["CA-BC"])
    assert "'rise' comes twice" in str(errors[0])


def test_there_is_exactly_one_table_of_states() -> None:
    changed = {path: c for path, c in files().items() if path != "acts/states.yaml"}
    with pytest.raises(ScriptError, match=r"acts/states\.yaml"):
        load_script("bus", changed)


def test_a_script_that_does_not_exist_is_named() -> None:
    with pytest.raises(ScriptError, match="straight-truck"):
        load_script("tea", files())


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_any_lost_line_loads_or_is_explained(data: st.DataObject) -> None:
    """Nothing but a ScriptError with a file comes out of a file with a line lost."""
    path = data.draw(st.sampled_from(sorted(files())))
    lines = files()[path].decode().splitlines(keepends=True)
    lost = data.draw(st.integers(0, len(lines) - 1))
    changed = {**files(), path: "".join(lines[:lost] + lines[lost + 1 :]).encode()}
    try:
        check_script(load_script("tractor-trailer", changed))
    except ScriptError as error:
        assert error.file


def test_the_shipped_scripts_do_not_have_these_mistakes() -> None:
    for name in ("straight-truck", "tractor-trailer", "bus"):
        assert check_script(script(name)) == ()
