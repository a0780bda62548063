"""The library of procedures: each is proved on every machine sheet of its class, and warns before what can hurt.

A procedure and the sheets that it is for find each other by their `for:`, so a new file of either kind is tested at once.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from assistant.core.binding import Bound, bind
from assistant.core.exploring import model_of
from assistant.core.machine import MachineSheet
from assistant.core.procedure import Never, Procedure, Step
from assistant.core.proof import prove
from assistant.core.speech import commands
from assistant.files.procedure_file import load_procedure
from assistant.files.sheet_file import load_sheet
from assistant.files.site_file import load_site

ROOT = Path(__file__).parent.parent
FOLDER = ROOT / "procedures"
VOCABULARY = {line.split()[0] for line in (ROOT / "models/bench-en/graph/words.txt").read_text().splitlines()}
COMMAND_WORDS = {said for command in commands.ALL for said in command.said}
LEAST_STEPS = 25
MOST_WORDS = 20
"""Of a prompt: what ASD-STE100 allows one sentence of a procedure (from memory), for nobody can read it again."""


def _named(path: Path) -> str:
    return path.name.removesuffix(".yaml")


def _classes(paths: Iterable[Path]) -> dict[str, str]:
    """What each file is for, by its name: the line itself, since reading them all takes seconds of every test run."""
    return {_named(p): re.findall(r"(?m)^for: (.+)$", p.read_text(encoding="utf-8"))[0].strip() for p in sorted(paths)}


SHEETS = _classes(FOLDER.glob("*.sheet.yaml"))
PROCEDURES = _classes(p for p in FOLDER.glob("*.yaml") if not p.name.endswith((".sheet.yaml", ".site.yaml")))
PAIRS = [(name, sheet) for name, of in PROCEDURES.items() for sheet, its in SHEETS.items() if its == of]
CLASSES = sorted(set(PROCEDURES.values()))


@cache
def procedure_named(name: str) -> Procedure:
    procedure = load_procedure(FOLDER / f"{name}.yaml")
    assert procedure.machine_class == PROCEDURES[name]
    return procedure


@cache
def sheet_named(name: str) -> MachineSheet:
    sheet = load_sheet(FOLDER / f"{name}.yaml")
    assert sheet.machine_class == SHEETS[name]
    return sheet


@cache
def bound(name: str, sheet: str) -> Bound:
    return bind(procedure_named(name), sheet_named(sheet), load_site(FOLDER / "our-shop.site.yaml"))


@pytest.mark.parametrize("machine_class", CLASSES)
def test_a_class_has_two_sheets_and_both_seasons(machine_class: str) -> None:
    """Every machine is laid up and put back into service, by the same sheets, of which there are two at least."""
    names = {name for name, its in PROCEDURES.items() if its == machine_class}
    assert {re.sub("^.*-(off-season|spring)$", r"\1", name) for name in names} == {"off-season", "spring"}
    assert list(SHEETS.values()).count(machine_class) >= 2


@pytest.mark.parametrize(("name", "sheet"), PAIRS)
def test_it_binds_and_is_proved_safe(name: str, sheet: str) -> None:
    """Every name is given, no order of answers reaches a never, and every step can be reached and done."""
    assert bound(name, sheet).problems == ()
    proof = prove(bound(name, sheet).procedure)
    assert proof.ok, f"{proof.counterexample or proof.unreachable}"


@pytest.mark.parametrize("name", PROCEDURES)
def test_it_is_a_whole_job(name: str) -> None:
    """A lay-up, or a putting back into service, has 25 steps at least."""
    assert len(procedure_named(name).steps) >= LEAST_STEPS


@pytest.mark.parametrize(("name", "sheet"), PAIRS)
def test_prompts_can_be_held_in_the_head(name: str, sheet: str) -> None:
    """Twenty words at most, the amounts of the sheet among them."""
    long = {step.id: step.say for step in bound(name, sheet).procedure.steps if len(step.say.split()) > MOST_WORDS}
    assert long == {}


@pytest.mark.parametrize(("name", "sheet"), PAIRS)
def test_every_limit_says_where_it_comes_from(name: str, sheet: str) -> None:
    """A page, a label, a computation's source, or that it is practice."""
    steps = bound(name, sheet).procedure.steps
    assert [r.name for step in steps for r in step.readings for limit in r.limits if not limit.source] == []


@pytest.mark.parametrize("name", PROCEDURES)
def test_every_answer_can_be_heard(name: str) -> None:
    """Names, places and choices are words of the bench model, and none of them is a command."""
    for step in procedure_named(name).steps:
        for r in step.readings:
            places = [at for at in r.positions if isinstance(at, str)]
            phrases = [r.ask.lower(), r.each, *places, *(words for choice in r.choices for words in choice.words)]
            assert not {word for phrase in phrases for word in phrase.split()} - VOCABULARY, (step.id, r.name)
            assert not COMMAND_WORDS.intersection(phrases), (step.id, r.name)


# Rules carry weight


def without_needs(procedure: Procedure, never: Never) -> Procedure:
    """The same with this rule alone, and no step that needs any condition of it."""

    def thinner(step: Step) -> Step:
        return replace(step, needs={c: value for c, value in step.needs.items() if c not in never.conditions})

    return replace(procedure, never=(never,), steps=tuple(thinner(step) for step in procedure.steps))


@pytest.mark.parametrize("name", PROCEDURES)
def test_no_rule_is_for_show(name: str) -> None:
    """Each never is reached once no step needs what keeps it away: else it says nothing of this machine."""
    procedure = procedure_named(name)
    idle = [n.because for n in procedure.never if not model_of(without_needs(procedure, n), n).to_go]
    assert idle == []


# Cautions before the act. Sources: reference.md section 9 (NIOSH 96-118a on carbon monoxide from small engines; 29 CFR
# 1926.441 and 1910.178(g) on batteries; 40 CFR 279.22 on used oil); else common practice, no source.
CAUTIONS = [
    # machine class (a part of it), condition, value it gets, what a caution says by then
    ("", "engine", "running", "monoxide|exhaust kills|exhaust is deadly"),
    ("", "engine", "running", "turns?|propeller|nozzle"),
    ("", "battery", "disconnected", "acid"),
    ("", "plugs", "out", "goggles|vapour"),
    ("", "oil", "out", "hot|scald"),
    ("personal watercraft", "support", "stand", "lifted"),
    ("personal watercraft", "drive", "open", "impeller"),
    ("personal watercraft", "water", "on", "stalls"),
    ("personal watercraft", "antifreeze", "on", "propylene"),
    ("personal watercraft", "pump_area", "hands", "battery out"),
    ("personal watercraft", "place", "outside", "monoxide"),
    ("personal watercraft", "craft", "afloat", "life jackets"),
    ("two-stroke", "tank", "open", "vapour"),
    ("two-stroke", "float_bowls", "open", "no flame"),
    ("quad", "fuel", "open", "vapour"),
    ("quad", "coolant_cap", "open", "hot coolant"),
    ("quad", "belt_case", "open", "pulley"),
    ("quad", "lift", "stands", "jack"),
    ("quad", "rider", "on", "helmet"),
    ("generator", "engine", "running", "house"),
    ("generator", "engine", "running", "outdoors only"),
    ("generator", "load", "on", "live"),
    ("generator", "fuel", "open", "vapour"),
    ("generator", "tank", "open", "vapour"),
    ("generator", "plug", "out", "vapour"),
    ("generator", "shroud", "removed", "spring"),
    ("mower", "engine", "running", "blade"),
    ("mower", "cap", "open", "vapour"),
    ("mower", "deck", "tipped", "lead"),
    ("mower", "bolt", "out", "gloves"),
    ("mower", "plug", "out", "vapour"),
    ("outboard", "water", "on", "pump"),
    ("outboard", "propeller", "loose", "cut"),
    ("outboard", "fuel_system", "open", "vapour"),
    ("outboard", "gear_oil", "out", "pressure|scalds"),
    ("outboard", "gearcase", "off", "heavy"),
    ("outboard", "leg", "tilted", "tilt lock"),
    ("outboard", "place", "afloat", "life jackets"),
    ("petrol inboard", "engine", "running", "fuel vapour"),
    ("petrol inboard", "water", "on", "water first"),
    ("petrol inboard", "water", "antifreeze", "propylene"),
    ("petrol inboard", "cap", "off", "scalding|cold engine"),
    ("petrol inboard", "propeller", "loose", "cut"),
    ("petrol inboard", "fuel_system", "open", "spark"),
    ("petrol inboard", "place", "afloat", "life jackets"),
]


@pytest.mark.parametrize(("machine_class", "condition", "value", "words"), CAUTIONS)
def test_cautions_come_before_the_act(machine_class: str, condition: str, value: str, words: str) -> None:
    """In every procedure of the class the words are in a caution no later than the first step that makes it so."""
    found = 0
    for name in PROCEDURES:
        procedure = procedure_named(name)
        first = next((i for i, step in enumerate(procedure.steps) if step.makes.get(condition) == value), None)
        if machine_class not in procedure.machine_class or first is None:
            continue
        found += 1
        told = " ".join(caution for step in procedure.steps[: first + 1] for caution in step.cautions)
        assert re.search(rf"\b({words})\b", told, re.IGNORECASE), (name, procedure.steps[first].id)
    assert found, "no procedure of this class makes it so: mend the table"
