"""Parts: *part* opens the eyes, the label is checked against what the step wants, the packet is kept or refused."""

from __future__ import annotations

from dataclasses import replace

from assistant.core import entries as e
from assistant.core.effects import Scan
from assistant.core.events import Scanned
from assistant.core.labels.meaning import LabelMeaning, read_label
from assistant.core.labels.part_check import check_part
from assistant.core.procedure import WantedPart
from assistant.core.state import Question, Turn
from assistant.core.turns.opening import go_on, next_part

LOOK_FOR_S = 12.0
"""Seconds that the eyes stay open: time to turn a packet over twice (common practice, no source)."""


def look(turn: Turn) -> None:
    """*Part*: open the eyes for a while."""
    turn.talk(phase="scanning")
    turn.say("Looking.", "answer")
    turn.do(Scan(LOOK_FOR_S))


def seen(turn: Turn, event: Scanned) -> None:
    """The eyes closed: judge what they read, or say why they read nothing."""
    turn.talk(phase="step")
    if not event.labels:
        turn.say(f"{event.trouble or 'I see no label.'} Say part to try again.", "part")
        return
    role = next_part(turn.state)
    if not role:
        _identify(turn, event)
        return
    label = event.labels[0]
    meaning = read_label(label, turn.state.today)
    wanted = turn.state.parts[role]
    answer = check_part(meaning, wanted, turn.state.parts.values(), turn.state.job.used, turn.state.today)
    entry = e.PartScanned(
        step=turn.step.id,
        role=role,
        answer=answer.answer,
        kept=answer.answer == "right",
        symbology=label.symbology,
        text=label.text,
        gtin=meaning.gtin,
        number=meaning.number,
        lot=meaning.lot,
        serial=meaning.serial,
        expiry=meaning.expiry,
        why=answer.sentence,
    )
    if answer.answer == "not known":
        turn.talk(phase="question", question=Question("part", part=entry, picture=event.picture))
        turn.say(f"{answer.sentence} Affirm to take it all the same, or negative.", "question")
        return
    turn.record(entry, picture=event.picture)


def _identify(turn: Turn, event: Scanned) -> None:
    """No part is wanted here: say what it is."""
    meaning = read_label(event.labels[0], turn.state.today)
    match = next((p for p in turn.state.parts.values() if _is(meaning, p)), None)
    what = f"That is the {match.say}" if match else "I don't know that part"
    turn.say(f"{what}. This step wants none.", "part")


def _is(meaning: LabelMeaning, part: WantedPart) -> bool:
    return bool(meaning.gtin and meaning.gtin.lstrip("0") in {g.lstrip("0") for g in part.gtins})


def affirm_part(turn: Turn) -> None:
    """*Affirm*: an unknown packet is taken all the same, and the record says so."""
    question = turn.state.talk.question
    assert question is not None and isinstance(question.part, e.PartScanned)
    turn.talk(phase="step", question=None)
    turn.record(replace(question.part, kept=True), picture=question.picture)


def deny_part(turn: Turn) -> None:
    """*Negative*: it is not taken; that it was shown stays in the record."""
    question = turn.state.talk.question
    assert question is not None and isinstance(question.part, e.PartScanned)
    turn.talk(phase="step", question=None)
    turn.record(question.part, picture=question.picture)


def part_recorded(turn: Turn, entry: e.PartScanned) -> None:
    """It is on disk: say so, and go on."""
    if not entry.kept:
        turn.say(f"{entry.why} Not kept. Say part for another.", "part")
        return
    lot = f" Lot {entry.lot}." if entry.lot else ""
    known = entry.why if entry.answer == "right" else "Kept as not known."
    turn.say(f"{known}{lot}", "part")
    go_on(turn)
