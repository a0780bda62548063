"""Positions that are words: written in the procedure, asked for, said, kept, read back, judged and resumed."""

from __future__ import annotations

import pytest

from assistant.core.binding import bind
from assistant.core.entries import ReadingKept
from assistant.core.machine import MachineSheet, Site
from assistant.core.problems import FileProblems
from assistant.core.procedure import Position, place_of, position_in
from assistant.files.procedure_file import read_procedure
from tests.conversation import Conversation

TEXT = """
procedure: sides
title: Sides
version: 1
for: boat
conditions: {engine: [stopped, running]}
start: {engine: stopped}
never:
  - {when: {engine: running}, because: "Nothing starts it."}
steps:
  - id: tabs
    title: Trim tabs
    say: Measure both tabs.
    readings:
      - name: trim
        ask: Trim tab
        unit: mm
        plausible: [0, 60]
        each: side
        positions: [port, starboard]
        limits: [{spread: 10 percent, source: invented}]
  - id: end
    title: End
    say: That is all.
"""


def tabs() -> Conversation:
    procedure = read_procedure(TEXT, "sides.yaml")
    bound = bind(procedure, MachineSheet("Small", "boat", {}, {}, {}), Site())
    assert bound.problems == ()
    return Conversation(bound.procedure).start()


def kept(bay: Conversation) -> list[tuple[str, str, str]]:
    return [(k.entry.at, k.entry.value, k.entry.verdict) for k in bay.kept if isinstance(k.entry, ReadingKept)]


def test_sides_are_asked_for_kept_and_judged_as_a_set() -> None:
    """Port, then starboard; each is kept with its side, and the spread is that of both."""
    bay = tabs()
    assert bay.said[-1] == "Trim tab, side port?"
    bay.hear("forty")
    assert bay.said[-1] == "Trim tab, side starboard?"
    bay.hear("thirty")
    assert kept(bay) == [("side port", "40", ""), ("side starboard", "30", "low")]
    assert "the spread is too wide, the lowest is side starboard" in bay.said[-2]


def test_sides_said_out_of_order_and_corrected() -> None:
    """A side may be named, a correction goes to the last one kept, and both sides fit into one breath."""
    bay = tabs()
    bay.hear("starboard side forty")
    assert bay.said[-1] == "Trim tab, side port?"
    bay.hear("correction forty one")
    assert kept(bay)[-1][:2] == ("side starboard", "41")
    assert "side starboard" in bay.said[-2]
    bay = tabs()
    bay.hear("forty forty one")
    assert [row[:2] for row in kept(bay)][:2] == [("side port", "40"), ("side starboard", "41")]


def test_a_job_with_sides_is_taken_up_again() -> None:
    """Resumed, it asks for the side that is missing."""
    bay = tabs()
    bay.hear("forty")
    assert bay.resumed().said[-1] == "Trim tab, side starboard?"


@pytest.mark.parametrize(
    ("each", "at", "place"),
    [("cylinder", 2, "cylinder 2"), ("cylinder", 12, "cylinder 12"), ("side", "port", "side port"), ("", None, "")],
)
def test_a_place_can_be_read_back_from_the_job_file(each: str, at: Position | None, place: str) -> None:
    """Places of numbers stand as they always have; those of words beside them."""
    assert place_of(each, at) == place
    assert position_in(place) == at


MISTAKES = [
    ("[port, starboard]", "[port]", "one place is no set"),
    ("[port, starboard]", "[port, port]", "'port' is there twice"),
    ("[port, starboard]", "[port, two]", "'two' is no place"),
    ("[port, starboard]", "[port, 20]", "'20' is no place"),
    ("[port, starboard]", "[port, 0]", "'0' is no place"),
    ("[port, starboard]", "[port, star board]", "'star board' is no place"),
    ("[port, starboard]", "[Port, starboard]", "'Port' is no place"),
    ("        each: side\n", "", "nothing says what the places are of"),
]


@pytest.mark.parametrize(("good", "bad", "problem"), MISTAKES)
def test_places_that_cannot_be_said_are_refused(good: str, bad: str, problem: str) -> None:
    """Each mistake is named, with its line."""
    assert good in TEXT
    with pytest.raises(FileProblems) as caught:
        read_procedure(TEXT.replace(good, bad), "sides.yaml")
    [text] = [str(found) for found in caught.value.problems]
    assert problem in text
    assert text.startswith("sides.yaml:")


def test_numbers_that_the_sheet_does_not_count_can_be_given() -> None:
    """Six cells, whatever the machine sheet counts."""
    text = TEXT.replace("side", "cell").replace("[port, starboard]", "[1, 2, 3, 4, 5, 6]")
    [reading] = (
        bind(read_procedure(text, "cells.yaml"), MachineSheet("Small", "boat", {}, {}, {}), Site())
        .procedure.steps[0]
        .readings
    )
    assert reading.positions == (1, 2, 3, 4, 5, 6)
