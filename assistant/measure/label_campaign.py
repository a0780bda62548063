"""The project's own campaign: the drawn pictures, first as stills in several processes, then some before the camera.

The camera's frames come last, one process by itself and nothing of ours beside it: frames a second are promised of one core.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from assistant.measure.label_keeping import Keeping
from assistant.measure.label_pictures import Shot, take
from assistant.measure.label_readings import CAMERA, Decoders, by_camera, comparable
from assistant.measure.label_scores import Trial
from assistant.measure.label_workers import looked_at

CAMERA_OF = 15
"""Of so many pictures of a cell the first is also shown to the camera loop, frame by frame: that takes long."""
Tell = Callable[[str], None]


def campaign(shots: Sequence[Shot], workers: int, keep: Path | None, tell: Tell) -> list[Trial]:
    """The trials of these pictures, in their order. `tell` is given how far it is, picture by picture.

    keep: a file in which each trial is kept as it is done, and whose trials are not done again.
    """
    with Keeping(keep) as kept:
        missing = [shot for shot in shots if shot not in kept.done]
        had = len(shots) - len(missing)
        for number, trial in enumerate(looked_at(look_at, missing, workers)):
            kept.add(missing[number], trial)
            tell(f"{had + number + 1} of {len(shots)} pictures")
        held = [shot for shot in shots if shot.symbology and shot.number % CAMERA_OF == 0]
        for number, shot in enumerate(held, start=1):
            if all(reading.decoder != CAMERA for reading in kept.done[shot].readings):
                kept.add_reading(shot, by_camera(take(shot, "measure").picture))
            tell(f"{number} of {len(held)} labels before the camera")
        return [kept.done[shot] for shot in shots]


def look_at(decoders: Decoders, shot: Shot) -> Trial:
    """Draw the picture, and let every decoder read it."""
    one = take(shot, "measure")
    wanted = frozenset({comparable(one.text)} if one.text else ())
    return Trial(one.symbology, one.damage, wanted, one.linear, one.checked, tuple(decoders.readings(one.picture)))
