"""Parts: *part* opens the eyes, the label is checked against what the step wants, the packet is kept or refused.

*Part number*, with the number spelled behind it, does the same for a label that no camera can read.
"""

from __future__ import annotations

from dataclasses import replace

from assistant.core import entries as e
from assistant.core.effects import Scan
from assistant.core.events import Label, Scanned
from assistant.core.labels.packet import Packet
from assistant.core.labels.part_check import ASKED, TAKEN, spelled
from assistant.core.labels.spoken import SPOKEN, carries_check_digit, read_spoken
from assistant.core.speech.saying import READ_BACK
from assistant.core.state import Question, Turn
from assistant.core.turns.opening import go_on, next_part
from assistant.core.turns.part_entries import answer_of, best_packet, entry_of

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
    role = next_part(turn.state)
    if not event.labels:
        spell = ", or part number and spell it" if role else ""
        turn.say(f"{event.trouble or 'I see no label.'} Say part to try again{spell}.", "part")
        return
    if not role:
        _identify(turn, event)
        return
    packet, answer = best_packet(turn.state, event.labels, role)
    entry = entry_of(turn.state, packet, answer, role)
    if answer.answer in ASKED:
        _ask(turn, entry, event.picture)
    else:
        turn.record(entry, picture=event.picture)


def spelled_out(turn: Turn, number: str) -> None:
    """A number said by letters and figures: judged as a label is. What has no check digit is read back first."""
    role = next_part(turn.state)
    if not role:
        turn.say("This step wants no part.", "part")
        return
    meaning = read_spoken(number, turn.state.parts.values(), turn.state.today)
    answer = answer_of(turn.state, meaning, role)
    entry = entry_of(turn.state, Packet(Label(SPOKEN, number), meaning), answer, role)
    if meaning.problem is not None:
        turn.record(entry)
    elif answer.answer in ASKED or (answer.answer in TAKEN and not carries_check_digit(meaning)):
        _ask(turn, replace(entry, kept=False))
    else:
        turn.record(entry)


def _ask(turn: Turn, entry: e.PartScanned, picture: str = "") -> None:
    question = Question("part", part=entry, picture=picture, clip=turn.clip)
    turn.talk(phase="question", question=question)
    put_question(turn, question)


def put_question(turn: Turn, question: Question) -> None:
    """Say the open question."""
    entry = question.part
    assert isinstance(entry, e.PartScanned)
    said = (
        f"{spelled(entry.number or entry.text)}. " if entry.symbology == SPOKEN and entry.answer != "not known" else ""
    )
    if entry.answer in TAKEN:
        want = "Affirm, or negative."
    elif entry.answer == "shown before":
        want = "Affirm that it is another one, or negative."
    else:
        want = "Affirm to take it all the same, or negative."
    turn.say(f"{said}{entry.why} {want}", "question")


def _identify(turn: Turn, event: Scanned) -> None:
    """No part is wanted here: say what it is."""
    any_role = next(iter(turn.state.parts), "")
    packet, answer = best_packet(turn.state, event.labels, any_role) if any_role else (None, None)
    if answer is not None and answer.role:
        what = f"That is the {turn.state.parts[answer.role].say}"
    elif packet is not None and packet.meaning.machine:
        what = f"That is a {packet.meaning.machine}"
    else:
        what = "I don't know that part"
    turn.say(f"{what}. This step wants none.", "part")


def affirm_part(turn: Turn) -> None:
    """*Affirm*: the packet is taken, and the record says in what doubt. That it is another one leaves none."""
    question = turn.state.talk.question
    assert question is not None and isinstance(question.part, e.PartScanned)
    turn.talk(phase="step", question=None)
    entry = replace(question.part, kept=True)
    if entry.answer == "shown before":
        say = turn.state.parts[entry.role].say
        entry = replace(entry, answer="right", why=f"{say[:1].upper()}{say[1:]}, another one.")
    turn.record(entry, clip=question.clip, picture=question.picture)


def deny_part(turn: Turn) -> None:
    """*Negative*: it is not taken; that it was shown stays in the record."""
    question = turn.state.talk.question
    assert question is not None and isinstance(question.part, e.PartScanned)
    turn.talk(phase="step", question=None)
    turn.record(question.part, clip=question.clip, picture=question.picture)


def part_recorded(turn: Turn, entry: e.PartScanned) -> None:
    """It is on disk: say so, and go on."""
    if not entry.kept:
        again = "part number, and spell it" if entry.symbology == SPOKEN else "part for another"
        turn.say(f"{entry.why} Not kept. Say {again}.", "part")
        return
    known = entry.why if entry.answer in TAKEN else f"Kept as {entry.answer}."
    lot = f" Lot {entry.lot}." if entry.lot else ""
    turn.say(f"{known}{lot}{_count(turn, entry.role)}", "part")
    go_on(turn)


def _count(turn: Turn, role: str) -> str:
    """How many of how many, where more than one is wanted."""
    wanted = turn.state.parts[role].quantity
    have = turn.state.job.pieces(turn.state.job.step, role)
    return f" {_number(have)} of {_number(wanted).lower()}." if wanted > 1 else ""


def _number(n: int) -> str:
    return " ".join(READ_BACK[int(c)] for c in str(n)).capitalize()
