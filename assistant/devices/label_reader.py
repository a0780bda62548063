"""Reading labels: zbar first, zxing beside it, over a ladder of prepared pictures that stops at the first answer.

A still picture gets every rung with both decoders. A camera's frame must be quick, and the next one comes anyway: it
gets zbar on the picture as it is and two more attempts, which take turns from frame to frame.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, cycle, islice

from assistant.core.events import Label
from assistant.devices.decoders import Decoder, ZbarDecoder, ZxingDecoder
from assistant.devices.preparation import LADDER, as_it_is, grey
from assistant.devices.protocols import Picture

ATTEMPTS_A_FRAME = 2
"""Further attempts on a camera's frame in which zbar found nothing."""


class ZbarReader:
    """Both decoders. `still`: pictures come one by one and each must give all it has; else frames of a camera.

    Raises DeviceTrouble where a decoder is not installed. One thread only.
    """

    def __init__(self, *, still: bool = False) -> None:
        self._zbar, self._zxing = ZbarDecoder(), ZxingDecoder()
        self._still = still
        attempts = [(rung, d) for rung in LADDER.values() for d in (self._zbar, self._zxing)]
        self._turns = cycle([a for a in attempts if a != (as_it_is, self._zbar)])

    def read(self, picture: Picture) -> tuple[Label, ...]:
        """The labels of the first attempt that finds any, each once."""
        return self._read_still(grey(picture)) if self._still else self._read_frame(grey(picture))

    def _read_still(self, picture: Picture) -> tuple[Label, ...]:
        for rung in LADDER.values():
            prepared = rung(picture)
            if prepared is None:
                continue
            if found := _each_once(chain(self._zbar.decode(prepared), self._zxing.decode(prepared))):
                return found
        return ()

    def _read_frame(self, picture: Picture) -> tuple[Label, ...]:
        if found := _each_once(self._zbar.decode(picture)):
            return found
        for rung, decoder in islice(self._turns, ATTEMPTS_A_FRAME):
            prepared = rung(picture)
            if prepared is not None and (found := _each_once(decoder.decode(prepared))):
                return found
        return ()

    def confirms(self, picture: Picture, label: Label) -> bool:
        """Whether both decoders, each by itself, read this label from this picture."""
        flat = grey(picture)
        return _reads(self._zbar, flat, label) and _reads(self._zxing, flat, label)

    def close(self) -> None:
        """Let go of the decoders; may be called twice."""
        self._zbar.close()
        self._zxing.close()


def _each_once(labels: Iterable[Label]) -> tuple[Label, ...]:
    return tuple(dict.fromkeys(labels))


def _reads(decoder: Decoder, picture: Picture, label: Label) -> bool:
    prepared = (rung(picture) for rung in LADDER.values())
    return any(p is not None and label in decoder.decode(p) for p in prepared)


class ScriptedReader:
    """The double: each picture gives the next labels of a list, none after its end. `confirmed` are sure at once."""

    def __init__(self, script: Sequence[tuple[Label, ...]], confirmed: frozenset[Label] = frozenset()) -> None:
        self._script: Iterator[tuple[Label, ...]] = iter(script)
        self._confirmed = confirmed

    def read(self, picture: Picture) -> tuple[Label, ...]:  # noqa: ARG002 (the protocol's)
        """The next labels of the script, whatever the picture."""
        return next(self._script, ())

    def confirms(self, picture: Picture, label: Label) -> bool:  # noqa: ARG002 (the protocol's)
        """As the script says."""
        return label in self._confirmed

    def close(self) -> None:
        """Nothing is held."""
