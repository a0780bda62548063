"""What the eyes see, in a window (`--window`): the frame, where bars are, and the labels read so far.

The window lives in a process of its own, which gets JPEG pictures through a pipe: a windowing library that hangs, or is
closed by its cross, must not touch the job. Run as a program, this file is that process.
"""

from __future__ import annotations

import os
import struct
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import Any, BinaryIO

from assistant.core.events import Label
from assistant.core.problems import DeviceTrouble
from assistant.devices.camera import quiet_opencv
from assistant.devices.preparation import grey, strongest_bars
from assistant.devices.protocols import Picture

TITLE = "layup: the eyes"
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

    def show(self, picture: Picture, labels: tuple[Label, ...]) -> None:
        """The frame as it is now. A window that has gone is opened again with the next look."""
        if self._process is None:
            self._process = subprocess.Popen(self._command, stdin=subprocess.PIPE, stderr=subprocess.DEVNULL)
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(sent(drawn(picture, labels)))
            self._process.stdin.flush()
        except OSError:
            return

    def close(self) -> None:
        """Take the window away; may be called twice."""
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.wait()
            assert process.stdin is not None
            try:
                process.stdin.close()
            except OSError:
                return


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
