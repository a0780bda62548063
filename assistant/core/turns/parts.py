"""Parts: *part* opens the eyes, the label is checked against what the step wants, the packet is kept or refused."""

from __future__ import annotations

from dataclasses import replace

from assistant.core import entries as e
from assistant.core.effects import Scan
from assistant.core.events import Label, Scanned
from assistant.core.labels.meaning import LabelMeaning, read_label
from assistant.core.labels.part_check import PartAnswer, check_part
from assistant.core.state import Question, Turn
from assistant.core.turns.opening import go_on, next_part

LOOK_FOR_S = 12.0
"""Seconds that the eyes stay open: time to turn a packet over twice (common practice, no source)."""

BEST_FIRST = ("right", "already used", "past its date", "wrong", "not known")


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
    label, meaning, answer = _best_label(turn, event.labels, role)
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
        question = Question("part", part=entry, picture=event.picture)
        turn.talk(phase="question", question=question)
        put_question(turn, question)
        return
    turn.record(entry, picture=event.picture)


def put_question(turn: Turn, question: Question) -> None:
    """Say the open question."""
    assert isinstance(question.part, e.PartScanned)
    turn.say(f"{question.part.why} Affirm to take it all the same, or negative.", "question")


def _best_label(turn: Turn, labels: tuple[Label, ...], role: str) -> tuple[Label, LabelMeaning, PartAnswer]:
    """A packet may carry several labels: the one that answers best counts."""
    judged = [(label, *_judged(turn, label, role)) for label in labels]
    return min(judged, key=lambda one: BEST_FIRST.index(one[2].answer))


def _judged(turn: Turn, label: Label, role: str) -> tuple[LabelMeaning, PartAnswer]:
    state = turn.state
    meaning = read_label(label, state.today)
    return meaning, check_part(meaning, state.parts[role], state.parts.values(), state.job.used, state.today)


def _identify(turn: Turn, event: Scanned) -> None:
    """No part is wanted here: say what it is."""
    any_role = next(iter(turn.state.parts), "")
    role = _best_label(turn, event.labels, any_role)[2].role if any_role else ""
    what = f"That is the {turn.state.parts[role].say}" if role else "I don't know that part"
    turn.say(f"{what}. This step wants none.", "part")


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
