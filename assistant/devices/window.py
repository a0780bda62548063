"""What the eyes see, in a window (`--window`): the frame, where bars are, and the labels read so far.

The window lives in a process of its own, which gets JPEG pictures through a pipe: a windowing library that hangs, or is
closed by its cross, must not touch the job: nobody waits for it. Run as a program, this file is that process.
"""

from __future__ import annotations

import os
import struct
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from typing import IO, Any, BinaryIO

from assistant.core.events import Label
from assistant.core.problems import DeviceTrouble
from assistant.devices.camera import quiet_opencv
from assistant.devices.preparation import grey, strongest_bars
from assistant.devices.protocols import Picture

TITLE = "layup: the eyes"
CLOSED_WITHIN_S = 2.0
"""Seconds that a window which was ended is waited for, so that its process is cleared away; then it is left alone."""
COMMAND = (sys.executable, "-m", "assistant.devices.window")
_LENGTH = struct.Struct(">I")
_YELLOW, _BLACK = (0, 230, 255), (0, 0, 0)


class EyesWindow:
    """An onlooker of `eyes.look`. Raises DeviceTrouble where there is no screen. One thread at a time."""

    def __init__(self, command: Sequence[str] = COMMAND) -> None:
        if sys.platform.startswith("linux") and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
            raise DeviceTrouble("there is no screen for a window", where="--window", do="leave --window away")
        self._command = tuple(command)
        self._process: subprocess.Popen[bytes] | None = None
        self._sending: threading.Thread | None = None

    def show(self, picture: Picture, labels: tuple[Label, ...]) -> None:
        """The frame as it is now; returns at once. Dropped while the window has not taken the one before. A window that has
        gone is opened again with the next look."""
        if self._sending is not None and self._sending.is_alive():
            return
        frame = sent(drawn(picture, labels))
        if self._process is None:
            try:
                self._process = subprocess.Popen(self._command, stdin=subprocess.PIPE, stderr=subprocess.DEVNULL)
            except OSError:
                return
        assert self._process.stdin is not None
        self._sending = threading.Thread(target=_send, args=(self._process.stdin, frame), name="window", daemon=True)
        self._sending.start()

    def close(self) -> None:
        """Take the window away; may be called twice."""
        process, self._process = self._process, None
        sending, self._sending = self._sending, None
        if process is None:
            return
        process.kill()
        with suppress(subprocess.TimeoutExpired):
            process.wait(CLOSED_WITHIN_S)
        if sending is not None:
            sending.join(CLOSED_WITHIN_S)
        if sending is None or not sending.is_alive():  # else closing would wait for it
            assert process.stdin is not None
            with suppress(OSError):
                process.stdin.close()


def _send(pipe: IO[bytes], frame: bytes) -> None:
    """Waits for as long as the pipe is full."""
    with suppress(OSError):
        pipe.write(frame)
        pipe.flush()


def drawn(picture: Picture, labels: tuple[Label, ...]) -> Picture:
    """A copy in colour with the strongest bars ringed and the labels written on it."""
    cv2 = quiet_opencv()
    shown = cv2.cvtColor(picture, cv2.COLOR_GRAY2BGR) if picture.ndim == 2 else picture.copy()
    bars = strongest_bars(grey(picture))
    cv2.circle(shown, (bars.x, bars.y), max(20, min(shown.shape[:2]) // 8), _YELLOW, 2, cv2.LINE_AA)
    for row, label in enumerate(labels):
        text = "".join(c if c.isprintable() else " " for c in f"{label.symbology} {label.text}")
        for colour, thick in ((_BLACK, 4), (_YELLOW, 1)):
            cv2.putText(shown, text, (12, 32 + 30 * row), cv2.FONT_HERSHEY_SIMPLEX, 0.8, colour, thick, cv2.LINE_AA)
    return shown


def sent(picture: Picture) -> bytes:
    """A picture for the pipe: the length in four bytes, and a JPEG file."""
    _, data = quiet_opencv().imencode(".jpg", picture)
    return _LENGTH.pack(len(data)) + bytes(data)


def received(pipe: BinaryIO) -> Iterator[Picture]:
    """The pictures that come through the pipe, until it ends."""
    import numpy as np

    cv2 = quiet_opencv()
    while len(head := pipe.read(_LENGTH.size)) == _LENGTH.size:
        data = pipe.read(_LENGTH.unpack(head)[0])
        picture = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR) if data else None
        if picture is not None:
            yield picture


def show_all(pipe: BinaryIO, show: Callable[[str, Picture], Any], wait: Callable[[int], Any]) -> None:
    """Each picture as it comes."""
    for picture in received(pipe):
        show(TITLE, picture)
        wait(1)


if __name__ == "__main__":
    show_all(sys.stdin.buffer, quiet_opencv().imshow, quiet_opencv().waitKey)
