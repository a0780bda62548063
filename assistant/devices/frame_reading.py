"""Reading a camera's frames, one after the other: quickly, for the next one comes anyway; and who read what in this look.

Each frame gets zbar on every second line of the picture as it is. As long as that gives nothing, or something that was
read in no other way yet, one more attempt: they take turns from frame to frame, zxing on the picture as it is every other
time. Where a decoder reads a label on a prepared picture, the other is tried on the same next. Else, every other frame,
zxing looks for the symbols that zbar does not read.

A misprint, a fold or a bent packet gives the same wrong text frame after frame, with the same decoder on the same picture:
that two frames agree says little. A linear label is trusted where it was read in two ways, by two decoders or on two rungs
of the ladder, as in a still; beside rivals by both decoders, and in more ways than they. Where two frames gave it in one way
only, the ladder is climbed with one of them, once in `CLOSER_EVERY` frames. Rivals in one frame are left out, both.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import chain, cycle

from assistant.core.events import Label
from assistant.devices.decoders import (
    MATRIX,
    Decoder,
    ZbarDecoder,
    ZxingDecoder,
    is_another_product,
    lost_its_accents,
    read_often_enough,
)
from assistant.devices.preparation import LADDER, Prepared, Rung, as_it_is
from assistant.devices.protocols import Picture
from assistant.devices.symbol_places import Found, are_rivals, unrivalled

Attempt = tuple[Rung, Decoder]

CLOSER_AFTER, CLOSER_EVERY = 2, 6
"""Frames that gave a label in one way only; and frames from one climb of the ladder to the next: it takes as long as five."""


class FrameReading:
    """The frames of one look after another. One thread only. Raises DeviceTrouble where a decoder is not installed."""

    def __init__(self) -> None:
        self.zbar: Decoder = ZbarDecoder(every_line=False)
        self.zxing: Decoder = ZxingDecoder()
        self.beside_zbar: Decoder = ZxingDecoder(beside_zbar=True)
        self.begin()

    def begin(self) -> None:
        """A new look: nothing was read yet."""
        self._both_turns = cycle([True, False])
        harder = [(rung, by) for rung in LADDER.values() if rung is not as_it_is for by in (self.zbar, self.zxing)]
        plain: Attempt = (as_it_is, self.zxing)
        self._turns: Iterator[Attempt] = cycle([attempt for hard in harder for attempt in (plain, hard)])
        self._first: tuple[Attempt, ...] = ()
        self._ways: defaultdict[Label, set[Attempt]] = defaultdict(set)
        self._rivals: defaultdict[Label, set[Label]] = defaultdict(set)
        self._frames_of: Counter[Label] = Counter()
        self._until_closer = 0

    def read(self, picture: Picture) -> tuple[Label, ...]:
        """The labels of a grey picture, each once."""
        found = self._noted((as_it_is, self.zbar), as_it_is(picture))
        if not found or any(map(self._is_waited_for, self._ways)):
            found += self._one_more(picture)
        elif next(self._both_turns):
            found += self.beside_zbar.decode(picture)
        self._until_closer -= 1
        self._frames_of.update({one.label for one in found})
        if self._until_closer <= 0 and any(map(self._is_doubted, found)):
            self._until_closer = CLOSER_EVERY
            found += self._closer(picture)
        for one in found:
            self._rivals[one.label].update(other.label for other in found if are_rivals(one, other))
        return unrivalled(found)

    def trusts(self, label: Label) -> bool:
        """Whether it was read often enough in this look, and in more ways than any other text of the same symbol; or corrects
        its own errors."""
        if label.symbology in MATRIX:
            return True
        ways = self._ways[label]
        rivals = self._rivals[label]
        enough = read_often_enough(label, [decoder for _, decoder in ways], has_rivals=bool(rivals))
        ahead = all(len(self._ways[rival]) < len(ways) for rival in rivals)
        return enough and ahead and not lost_its_accents(label, self._ways)

    def close(self) -> None:
        """Let go of the decoders; may be called twice."""
        for decoder in (self.zbar, self.zxing, self.beside_zbar):
            decoder.close()

    def _one_more(self, picture: Picture) -> tuple[Found, ...]:
        """The next attempt whose rung changes the picture."""
        attempts = chain(self._first, self._turns)
        rung, decoder, prepared = next((r, d, p) for r, d in attempts if (p := r(picture)) is not None)
        found = self._noted((rung, decoder), prepared)
        self._first = self._likely_after((rung, decoder), found)
        return found

    def _likely_after(self, attempt: Attempt, found: Sequence[Found]) -> tuple[Attempt, ...]:
        """The same again for a matrix code, which two frames must give; for a linear one the other decoder."""
        rung, decoder = attempt
        if not found or rung is as_it_is:
            return ()
        if any(one.label.symbology in MATRIX for one in found):
            return (attempt,)
        return ((rung, self.zxing if decoder is self.zbar else self.zbar),)

    def _noted(self, attempt: Attempt, prepared: Prepared) -> tuple[Found, ...]:
        """What its decoder finds on its rung, in the first picture's pixels."""
        _, decoder = attempt
        found = tuple(one.seen_from(prepared.back) for one in decoder.decode(prepared.picture))
        for one in found:
            self._ways[one.label].add(attempt)
        return found

    def _is_waited_for(self, label: Label) -> bool:
        """Neither trusted nor anything else of what is."""
        trusted = [other for other in self._ways if self.trusts(other)]
        rival = any(other in self._rivals[label] for other in trusted)
        return label not in trusted and not rival and not is_another_product(label, trusted)

    def _is_doubted(self, one: Found) -> bool:
        return self._frames_of[one.label] >= CLOSER_AFTER and not self.trusts(one.label)

    def _closer(self, picture: Picture) -> tuple[Found, ...]:
        """What both find on all rungs."""
        rungs = [(rung, prepared) for rung in LADDER.values() if (prepared := rung(picture)) is not None]
        both = (self.zbar, self.zxing)
        return tuple(one for rung, prepared in rungs for by in both for one in self._noted((rung, by), prepared))
