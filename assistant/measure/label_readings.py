"""What each decoder makes of a picture: pyzbar and zxing-cpp as they come, ours on a still, and ours on a camera's frames.

Times are of one thread's own work, so that they hold for one core, whatever else the machine does.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import count

import numpy as np

from assistant.core.events import Label
from assistant.core.labels.check_digit import mod10_fault
from assistant.devices.camera import quiet_opencv
from assistant.devices.eyes import look
from assistant.devices.label_reader import ZbarReader
from assistant.devices.plain_decoders import by_pyzbar, by_zxing
from assistant.devices.protocols import Picture

OURS, PYZBAR, ZXING, CAMERA = "ours", "pyzbar", "zxing-cpp", "ours, camera"
FRAMES = 15
"""What a camera shows in a second: so long one look lasts here. *Part* gives twelve times as much."""


@dataclass(frozen=True)
class Reading:
    """One decoder, one picture: the texts it found, and its time a picture (of a camera: a frame)."""

    decoder: str
    texts: frozenset[str]
    ms: float

    def read(self, wanted: frozenset[str]) -> bool:
        """Whether all that is there was found."""
        return bool(wanted) and wanted <= self.texts

    def wrong(self, wanted: frozenset[str]) -> bool:
        """Whether something was found that is not there."""
        return bool(self.texts - wanted)


def comparable(text: str) -> str:
    """Without FNC1, and a UPC-A number with the zero that makes it an EAN-13: the decoders write these one way or the other.

    >>> comparable("416000336108")
    '0416000336108'
    """
    bare = text.replace("\x1d", "")
    return bare.zfill(13) if len(bare) == 12 and mod10_fault(bare) is None else bare


class Decoders:
    """All of them. One thread; OpenCV is kept to it."""

    def __init__(self) -> None:
        quiet_opencv().setNumThreads(1)
        self._still = ZbarReader(still=True)

    def readings(self, grey: Picture) -> Iterator[Reading]:
        """One a decoder, of a still picture."""
        yield _timed(PYZBAR, by_pyzbar, grey)
        yield _timed(ZXING, by_zxing, grey)
        yield _timed(OURS, self._ours, grey)

    def _ours(self, grey: Picture) -> Iterable[str]:
        return (label.text for label in self._still.read(grey))

    def close(self) -> None:
        """Let go of the decoders."""
        self._still.close()


def _timed(name: str, decode: Callable[[Picture], Iterable[str]], grey: Picture) -> Reading:
    began = time.thread_time()
    texts = tuple(decode(grey))
    return Reading(name, frozenset(map(comparable, texts)), 1000 * (time.thread_time() - began))


class _Shaken:
    """A hand-held label before a camera: the picture again and again, moved by up to two pixels, with noise of its own."""

    def __init__(self, grey: Picture) -> None:
        self._grey = grey
        self._rng = np.random.default_rng(int(grey[::97, ::89].sum()))
        self.frames = 0

    def frame(self) -> Picture | None:
        """The next of `FRAMES`."""
        if self.frames == FRAMES:
            return None
        self.frames += 1
        dx, dy = self._rng.uniform(-2, 2, 2)
        cv2, size = quiet_opencv(), self._grey.shape[::-1]
        moved = cv2.warpAffine(self._grey, np.array([[1, 0, dx], [0, 1, dy]]), size, borderMode=cv2.BORDER_REPLICATE)
        shaken = moved + 2 * self._rng.standard_normal(moved.shape, np.float32)
        return np.asarray(np.clip(shaken, 0, 255), np.uint8)

    def close(self) -> None:
        """No more."""
        self.frames = FRAMES


class _Stopwatch:
    """A reader, with the time that its readings took."""

    def __init__(self, reader: ZbarReader) -> None:
        self._reader = reader
        self.took_s = 0.0

    def begin(self) -> None:
        """As the reader does."""
        self._reader.begin()

    def trusts(self, label: Label) -> bool:
        """As the reader does."""
        return self._reader.trusts(label)

    def agreed_in(self, picture: Picture) -> tuple[Label, ...]:
        """As the reader does: once a look, and no frame waits for it, so its time is not a frame's."""
        return self._reader.agreed_in(picture)

    def confirms(self, picture: Picture, label: Label) -> bool:
        """As the reader does; only a still needs it."""
        return self._reader.confirms(picture, label)

    def read(self, picture: Picture) -> tuple[Label, ...]:
        """As the reader does."""
        began = time.thread_time()
        found = self._reader.read(picture)
        self.took_s += time.thread_time() - began
        return found


def by_camera(grey: Picture) -> Reading:
    """What the camera loop makes of the label, held before it for a second."""
    quiet_opencv().setNumThreads(1)
    camera, reader = _Shaken(grey), ZbarReader()
    watch = _Stopwatch(reader)
    ticks = count()
    seen = look(camera, watch, FRAMES, lambda: float(next(ticks)))
    reader.close()
    texts = frozenset(comparable(label.text) for label in seen.labels)
    return Reading(CAMERA, texts, 1000 * watch.took_s / max(1, camera.frames))
