"""From what a packet says to the entry that is kept of it: which of several packets counts, and how many pieces."""

from __future__ import annotations

from assistant.core import entries as e
from assistant.core.events import Label
from assistant.core.labels.meaning import LabelMeaning
from assistant.core.labels.packet import Packet, packets_in
from assistant.core.labels.part_check import BEST_FIRST, TAKEN, PartAnswer, check_part, pieces_left
from assistant.core.state import State
from assistant.core.turns.opening import pieces_wanted


def best_packet(state: State, labels: tuple[Label, ...], role: str) -> tuple[Packet, PartAnswer]:
    """Of all packets in the picture, at least one, the one that answers best for the role."""
    judged = [(packet, answer_of(state, packet.meaning, role)) for packet in packets_in(labels, state.today)]
    return min(judged, key=lambda one: BEST_FIRST.index(one[1].answer))


def answer_of(state: State, meaning: LabelMeaning, role: str) -> PartAnswer:
    """Does this packet fit the role, by the sheet and by what this job has taken."""
    taken, language = state.job.parts_taken, state.site.language
    return check_part(meaning, state.parts[role], state.parts.values(), state.today, taken, language)


def entry_of(state: State, packet: Packet, answer: PartAnswer, role: str) -> e.PartScanned:
    """What is kept of it. Of a label that can't be trusted only its text; pieces: what it has left, as many as are wanted."""
    meaning = packet.meaning if packet.meaning.problem is None else LabelMeaning()
    left = pieces_left(meaning, state.job.parts_taken) or meaning.quantity or 1
    return e.PartScanned(
        step=state.job.step,
        role=role,
        answer=answer.answer,
        kept=answer.answer in TAKEN,
        symbology=packet.label.symbology,
        text=packet.label.text,
        gtin=meaning.gtin,
        number=meaning.number,
        lot=meaning.lot,
        serial=meaning.serial,
        expiry=meaning.expiry,
        why=answer.sentence,
        count=max(min(left, pieces_wanted(state, role)), 1),
        made=meaning.made,
        best_before=meaning.best_before,
        beside=tuple((label.symbology, label.text) for label in packet.beside),
    )
