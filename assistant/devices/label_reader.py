"""Reading labels: zbar first, zxing beside it, over a ladder of prepared pictures that stops at the first agreed answer.

A still picture gets every rung with both decoders until a label is agreed on: read twice, by two decoders or on two rungs.
A packet may carry its lot in a symbol of its own, so what else was read by then gets the rungs that are left to be agreed on
too, unless it can only be another product; and after matrix codes alone, which are read however they lie, linear ones get
the rung that turns them straight. Matrix codes correct their own errors and are agreed on at once. A linear code that is
read once only is no answer: each of the decoders now and then takes a worn code for another whose check digit is right too.
One symbol has one text: readings of one kind at one place are rivals; of these one is agreed on when both decoders read it
and it was read oftener than the others, and where they still stand level after the last rung neither is given. What is agreed
on stays; its rivals are done with. The last rung is our own reader of linear codes (`linear_codes`), for what neither can
read. A camera's frames: `frame_reading`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from assistant.core.events import Label
from assistant.core.labels.meaning import carries_check
from assistant.devices.decoders import (
    MATRIX,
    Decoder,
    ZbarDecoder,
    ZxingDecoder,
    is_another_product,
    lost_its_accents,
    read_often_enough,
)
from assistant.devices.frame_reading import FrameReading
from assistant.devices.linear_codes.reading import read_linear
from assistant.devices.preparation import LADDER, Matrix, at_least, grey, turned_straight
from assistant.devices.protocols import Picture
from assistant.devices.symbol_places import Found, are_rivals

LEAST_PX = 16
"""No symbol is smaller: the least Data Matrix has 10 modules and needs its quiet zone."""


class ZbarReader:
    """Both decoders. `still`: pictures come one by one and each must give all it has; else frames of a camera.

    Raises DeviceTrouble where a decoder is not installed. One thread only.
    """

    def __init__(self, *, still: bool = False) -> None:
        self._zbar: Decoder = ZbarDecoder()
        self._zxing: Decoder = ZxingDecoder()
        self._frames = None if still else FrameReading()

    def begin(self) -> None:
        """A new look begins: `trusts` counts from here."""
        if self._frames is not None:
            self._frames.begin()

    def read(self, picture: Picture) -> tuple[Label, ...]:
        """The labels that are found, each once."""
        flat = at_least(LEAST_PX, grey(picture))
        return self._read_still(flat) if self._frames is None else self._frames.read(flat)

    def agreed_in(self, picture: Picture) -> tuple[Label, ...]:
        """What a still of this picture would have agreed on, however long it takes."""
        return self._votes_on(at_least(LEAST_PX, grey(picture))).agreed

    def trusts(self, label: Label) -> bool:
        """Whether the frames since `begin` gave this label in two ways, as a still must."""
        return self._frames is None or self._frames.trusts(label)

    def _read_still(self, picture: Picture) -> tuple[Label, ...]:
        """What is agreed on; else what our own reader finds; else what carries no check."""
        votes = self._votes_on(picture)
        return votes.agreed or _each_once(read_linear(picture)) or votes.unchecked()

    def _votes_on(self, picture: Picture) -> _Votes:
        votes, straight = _Votes(), False
        for rung in LADDER.values():
            if (prepared := rung(picture)) is not None:
                for decoder in (self._zbar, self._zxing):
                    votes.add(decoder, decoder.decode(prepared.picture), prepared.back)
            votes.count()
            straight = straight or rung is turned_straight
            if votes.settled(straight=straight):
                break
        return votes

    def confirms(self, picture: Picture, label: Label) -> bool:
        """Whether both decoders, each by itself, read this label from this picture."""
        flat = grey(picture)
        return _reads(self._zbar, flat, label) and _reads(self._zxing, flat, label)

    def close(self) -> None:
        """Let go of the decoders; may be called twice."""
        self._zbar.close()
        self._zxing.close()
        if self._frames is not None:
            self._frames.close()


class _Votes:
    """Who read what, in the order in which it was first read, and what is agreed on."""

    def __init__(self) -> None:
        self._by: defaultdict[Label, list[Decoder]] = defaultdict(list)
        self._found: defaultdict[Label, list[Found]] = defaultdict(list)
        self.agreed: tuple[Label, ...] = ()

    def add(self, decoder: Decoder, found: Sequence[Found], back: Matrix) -> None:
        """One decoder on one rung; `back` leads from the rung's pixels to those of the picture."""
        for label in _each_once(one.label for one in found):
            self._by[label].append(decoder)
        for one in found:
            self._found[one.label].append(one.seen_from(back))

    def count(self) -> None:
        """After a rung: those read often enough, and oftener than their rivals, are agreed on."""
        enough = (label for label in self._open() if self._is_enough(label))
        self.agreed = (*self.agreed, *[label for label in enough if self._ahead(label)])

    def settled(self, *, straight: bool) -> bool:
        """Whether more rungs would hardly give more. straight: the picture has been turned straight, or lies so."""
        linear = any(label.symbology not in MATRIX for label in self.agreed)
        return bool(self.agreed) and not self._open() and (linear or straight)

    def unchecked(self) -> tuple[Label, ...]:
        """Those that one decoder alone read, in symbols that carry no check: for `is_sure` to doubt."""
        return tuple(label for label in self._by if not carries_check(label) and self._ahead(label))

    def _open(self) -> tuple[Label, ...]:
        """Those that may yet be agreed on: no rivals of one that is; nor, where a decoder does not say where it stands, another
        product; nor what is read without its accents."""
        left = (label for label in self._by if label not in self.agreed and not lost_its_accents(label, self._by))
        somewhere = (label for label in left if self._has_place(label) or not is_another_product(label, self.agreed))
        return tuple(label for label in somewhere if self._rivals(label).isdisjoint(self.agreed))

    def _is_enough(self, label: Label) -> bool:
        return read_often_enough(label, self._by[label], has_rivals=bool(self._rivals(label)))

    def _has_place(self, label: Label) -> bool:
        return all(one.corners.size for one in self._found[label])

    def _ahead(self, label: Label) -> bool:
        return all(len(self._by[rival]) < len(self._by[label]) for rival in self._rivals(label))

    def _rivals(self, label: Label) -> set[Label]:
        """What else the symbol was read as, on any rung; less what is the same without its accents."""
        found = [(other, at) for other, at in self._found.items() if not lost_its_accents(other, self._found)]
        return {other for other, at in found if any(are_rivals(a, b) for a in at for b in self._found[label])}


def _each_once(labels: Iterable[Label]) -> tuple[Label, ...]:
    return tuple(dict.fromkeys(labels))


def _reads(decoder: Decoder, picture: Picture, label: Label) -> bool:
    prepared = (rung(picture) for rung in LADDER.values())
    return any(label == one.label for p in prepared if p is not None for one in decoder.decode(p.picture))


class ScriptedReader:
    """The double: each picture gives the next labels of a list, none after its end.

    `confirmed` are sure at once; `doubted` are read in one way only, however often; `closely` is what a closer look gives.
    """

    def __init__(
        self,
        script: Sequence[tuple[Label, ...]],
        confirmed: frozenset[Label] = frozenset(),
        doubted: frozenset[Label] = frozenset(),
        closely: tuple[Label, ...] = (),
    ) -> None:
        self._script: Iterator[tuple[Label, ...]] = iter(script)
        self._doubted = doubted
        self._closely = closely
        self._confirmed = confirmed

    def read(self, picture: Picture) -> tuple[Label, ...]:  # noqa: ARG002 (the protocol's)
        """The next labels of the script, whatever the picture."""
        return next(self._script, ())

    def begin(self) -> None:
        """The script goes on."""

    def trusts(self, label: Label) -> bool:
        """As the script says."""
        return label not in self._doubted

    def agreed_in(self, picture: Picture) -> tuple[Label, ...]:  # noqa: ARG002 (the protocol's)
        """As the script says."""
        return self._closely

    def confirms(self, picture: Picture, label: Label) -> bool:  # noqa: ARG002 (the protocol's)
        """As the script says."""
        return label in self._confirmed

    def close(self) -> None:
        """Nothing is held."""
