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
from assistant.core.speech.english import told
from assistant.core.speech.language import capital
from assistant.core.speech.saying import sent_singly
from assistant.core.state import Question, Turn
from assistant.core.turns.opening import go_on, next_part, next_photograph
from assistant.core.turns.part_entries import answer_of, best_packet, entry_of

PHOTOGRAPH_FOR_S = 2.5
"""Seconds in which the sharpest frame is taken: time to hold still (common practice, no source)."""
LOOK_FOR_S = 12.0
"""Seconds that the eyes stay open: time to turn a packet over twice (common practice, no source)."""


def look(turn: Turn) -> None:
    """*Part*: open the eyes for a while."""
    turn.talk(phase="scanning")
    if not next_part(turn.state) and next_photograph(turn.state):
        turn.say(turn.words("hold still"), "answer")
        turn.do(Scan(PHOTOGRAPH_FOR_S, photograph=True))
        return
    turn.say(turn.words("looking"), "answer")
    turn.do(Scan(LOOK_FOR_S))


def seen(turn: Turn, event: Scanned) -> None:
    """The eyes closed: judge what they read, or say why they read nothing."""
    turn.talk(phase="step")
    role = next_part(turn.state)
    wanted = next_photograph(turn.state)
    if not role and wanted and event.picture:
        turn.record(e.PhotographKept(turn.step.id, wanted.name, event.trouble), picture=event.picture)
        return
    if not event.labels:
        trouble = told(event.trouble, turn.language) or turn.words("no label")
        turn.say(turn.words("try again or spell" if role else "try again", trouble=trouble), "part")
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
        turn.say(turn.words("no part wanted"), "part")
        return
    meaning = read_spoken(number, turn.state.parts.values(), turn.state.today, turn.language)
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
    said = entry.why
    if entry.symbology == SPOKEN and entry.answer != "not known":
        said = f"{spelled(entry.number or entry.text, turn.language)}. {said}"
    if entry.answer in TAKEN:
        key = "take it"
    elif entry.answer == "shown before":
        key = "take another"
    else:
        key = "take it all the same"
    turn.say(turn.words(key, question=said), "question")


def _identify(turn: Turn, event: Scanned) -> None:
    """No part is wanted here: say what it is."""
    any_role = next(iter(turn.state.parts), "")
    packet, answer = best_packet(turn.state, event.labels, any_role) if any_role else (None, None)
    if answer is not None and answer.role:
        turn.say(turn.words("that is part", part=turn.state.parts[answer.role].say), "part")
    elif packet is not None and packet.meaning.machine:
        turn.say(turn.words("that is machine", machine=turn.language.named(packet.meaning.machine)), "part")
    else:
        turn.say(turn.words("that is unknown"), "part")


def affirm_part(turn: Turn) -> None:
    """*Affirm*: the packet is taken, and the record says in what doubt. That it is another one leaves none."""
    question = turn.state.talk.question
    assert question is not None and isinstance(question.part, e.PartScanned)
    turn.talk(phase="step", question=None)
    entry = replace(question.part, kept=True)
    if entry.answer == "shown before":
        why = turn.words("another one", part=capital(turn.state.parts[entry.role].say))
        entry = replace(entry, answer="right", why=why)
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
        key = "number not kept" if entry.symbology == SPOKEN else "part not kept"
        turn.say(turn.words(key, why=entry.why), "part")
        return
    known = entry.why if entry.answer in TAKEN else turn.words(f"kept as {entry.answer}")
    lot = turn.words("lot", lot=entry.lot) if entry.lot else ""
    turn.say(" ".join(filter(None, (known, lot, _count(turn, entry.role)))), "part")
    go_on(turn)


def photograph_recorded(turn: Turn, entry: e.PhotographKept) -> None:
    """It is on disk: say so, with what is wrong with it, and go on."""
    turn.say(f"{turn.words('photograph kept')} {told(entry.trouble, turn.language)}".strip(), "part")
    go_on(turn)


def _count(turn: Turn, role: str) -> str:
    """How many of how many, where more than one is wanted."""
    wanted = turn.state.parts[role].quantity
    have = turn.state.job.pieces(turn.state.job.step, role)
    said = {"have": sent_singly(str(have), turn.language), "wanted": sent_singly(str(wanted), turn.language)}
    return capital(turn.words("of so many", **said)) if wanted > 1 else ""
