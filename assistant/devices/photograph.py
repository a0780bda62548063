"""A photograph: of all frames of a short look, the sharpest one, with what is wrong with it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import ExitStack

from assistant.core.speech.english import ENGLISH
from assistant.devices.eyes import Onlooker, Seen
from assistant.devices.frame_quality import measure_frame, png
from assistant.devices.protocols import Camera, Picture


def photograph(camera: Camera, seconds: float, clock: Callable[[], float], onlookers: Sequence[Onlooker] = ()) -> Seen:
    """The sharpest frame of so many seconds (`clock` gives them); one at least, of picture files one.

    Its trouble is told, and it is kept all the same: a dark picture says more than none. DeviceTrouble of the camera passes
    through. Onlookers are shown each frame, and are closed in any case.
    """
    with ExitStack() as closing:
        for onlooker in onlookers:
            closing.callback(onlooker.close)
        best = _sharpest(camera, seconds, clock, onlookers)
    if best is None:
        return Seen((), None, ENGLISH.phrase("no picture"))
    return Seen((), png(best), measure_frame(best).light_trouble())


def _sharpest(
    camera: Camera, seconds: float, clock: Callable[[], float], onlookers: Sequence[Onlooker]
) -> Picture | None:
    best, sharpness = None, -1.0
    began = clock()
    while (frame := camera.frame()) is not None:
        for onlooker in onlookers:
            onlooker.show(frame, ())
        if (found := measure_frame(frame).sharpness) > sharpness:
            best, sharpness = frame, found
        if clock() - began >= seconds:
            break
    return best
