"""The eyes: a camera or a video by OpenCV, or picture files one after the other.

`close` lets go of the device for certain and may be called twice. OpenCV and the codecs under it are kept from writing
to standard error: what goes wrong is said by the problem that is raised.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from assistant.core.problems import CallProblem, DeviceTrouble
from assistant.devices.protocols import Picture

LISTED = 8
"""Camera numbers that `list_cameras` tries; a bay has one or two, each of which may take two numbers."""

WIDTH, HEIGHT = 1280, 720
"""Pixels asked of a camera: enough for a 0.3 mm bar across a hand's breadth, and what every webcam has."""


def quiet_opencv() -> Any:
    """The cv2 module, with its log and FFmpeg's turned off."""
    os.environ.setdefault("OPENCV_FFMPEG_LOGLEVEL", "-8")  # AV_LOG_QUIET of libavutil; read when a video is opened
    import cv2

    cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_SILENT)
    return cv2


class OpenCvCamera:
    """A camera by its number (0 is the first) or a video file. Used from one thread.

    Raises DeviceTrouble at once where there is no such camera, CallProblem where there is no such video.
    """

    def __init__(self, source: int | Path) -> None:
        cv2 = quiet_opencv()
        self._is_video = isinstance(source, Path)
        self._name = f"video {source}" if self._is_video else f"camera {source}"
        if isinstance(source, Path) and not source.is_file():
            raise CallProblem("there is no such video", where=str(source), do="give the path of a video file")
        self._capture: Any = cv2.VideoCapture(str(source) if self._is_video else source)
        if not self._capture.isOpened():
            self.close()
            raise self._cannot_open(str(source))
        if not self._is_video:
            self._capture.set(cv2.CAP_PROP_FRAME_WIDTH, WIDTH)
            self._capture.set(cv2.CAP_PROP_FRAME_HEIGHT, HEIGHT)
            self._capture.set(cv2.CAP_PROP_BUFFERSIZE, 1)  # the newest frame, not one of the last second

    def _cannot_open(self, source: str) -> CallProblem | DeviceTrouble:
        if self._is_video:
            return CallProblem("that is no video that can be read", where=source, do="give an MP4, AVI or MKV file")
        return DeviceTrouble(
            f"there is no camera {source}, or another program holds it",
            do="plug it in, or choose another: `layup devices` lists them",
        )

    def frame(self) -> Picture | None:
        """The next picture; None after `close` and at the end of a video. DeviceTrouble where the camera has gone."""
        if self._capture is None:
            return None
        good, picture = self._capture.read()
        if good:
            return picture  # type: ignore[no-any-return]
        if self._is_video:
            return None
        raise DeviceTrouble(f"{self._name} gives no picture any more", do="look at its plug")

    def close(self) -> None:
        """Let go of the camera."""
        capture, self._capture = self._capture, None
        if capture is not None:
            capture.release()


def list_cameras() -> tuple[str, ...]:
    """The cameras that can be opened now, as "0: name"; on systems that do not tell names the number alone."""
    return tuple(_named(number) for number in range(LISTED) if _opens(number))


def _opens(number: int) -> bool:
    try:
        OpenCvCamera(number).close()
    except DeviceTrouble:
        return False
    return True


def _named(number: int) -> str:
    name = Path(f"/sys/class/video4linux/video{number}/name")
    return f"{number}: {name.read_text().strip()}" if name.is_file() else str(number)


class PictureFiles:
    """Picture files, each one frame, in the order given.

    Raises CallProblem for a missing file and for one that is no picture at once; for one that breaks off, at its frame.
    """

    def __init__(self, paths: Sequence[Path]) -> None:
        check_pictures(paths)
        self._paths: Iterator[Path] = iter(tuple(paths))

    def frame(self) -> Picture | None:
        """The next picture, None after the last and after `close`."""
        path = next(self._paths, None)
        return None if path is None else read_picture(path)

    def close(self) -> None:
        """No more pictures."""
        self._paths = iter(())


def check_pictures(paths: Sequence[Path]) -> None:
    """Raises CallProblem for the first file that is missing or whose beginning is no picture's."""
    for path in paths:
        _look_at(path)


def _look_at(path: Path) -> None:
    if not path.is_file():
        raise CallProblem("there is no such picture", where=str(path), do="give the path of a PNG or JPEG file")
    if not quiet_opencv().haveImageReader(str(path)):
        raise _no_picture(path)


def _no_picture(path: Path) -> CallProblem:
    return CallProblem("that is no picture, or it is broken", where=str(path), do="give a whole PNG or JPEG file")


def read_picture(path: Path) -> Picture:
    """One picture file, in colour. Raises CallProblem where it is missing, broken or far too large."""
    _look_at(path)
    cv2 = quiet_opencv()
    try:
        picture = cv2.imread(str(path), cv2.IMREAD_COLOR)
    except cv2.error as e:  # more than 2^30 pixels
        raise _no_picture(path) from e
    if picture is None or not picture.size:
        raise _no_picture(path)
    return picture  # type: ignore[no-any-return]
