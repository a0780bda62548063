"""Photographs that a step wants: asked for, taken as the sharpest frame, kept with the step, and never in the way of *done*."""

from __future__ import annotations

from itertools import count
from pathlib import Path

import cv2
import numpy as np
import pytest

from assistant.core import entries as e
from assistant.core.binding import bind
from assistant.core.effects import Scan
from assistant.core.events import Scanned
from assistant.core.machine import MachineSheet, Site
from assistant.devices.camera import read_picture
from assistant.devices.photograph import photograph
from assistant.devices.protocols import Picture
from assistant.files.procedure_file import read_procedure
from tests.conversation import Conversation

TEXT = """\
procedure: drive
title: Drive
version: 1
for: boat
steps:
  - id: impeller
    title: Impeller
    say: Look at the impeller.
    photographs: [{name: edges, of: the edges of the impeller}, {name: ring, of: the wear ring}]
  - {id: close, title: Closed, say: Close it.}
"""


def bay() -> Conversation:
    bound = bind(read_procedure(TEXT, "d.yaml"), MachineSheet("Tern", "boat", {}, {}, {}), Site())
    assert bound.problems == ()
    return Conversation(bound.procedure).start()


def shown(talk: Conversation, trouble: str = "") -> list[str]:
    talk.hear("part")
    return talk.send(Scanned(talk.now_s, (), "picture-1", trouble))


def test_it_is_asked_for_and_part_takes_it() -> None:
    talk = bay()
    assert talk.said == [
        "Look at the impeller.",
        "Say part for a photograph of the edges of the impeller, or done without.",
    ]
    assert shown(talk) == ["Photograph kept.", "Say part for a photograph of the wear ring, or done without."]
    assert Scan(2.5, photograph=True) in talk.effects
    assert talk.entries(e.PhotographKept) == [e.PhotographKept("impeller", "edges", "")]


def test_after_the_last_the_step_is_done() -> None:
    talk = bay()
    shown(talk)
    assert shown(talk) == ["Photograph kept.", "Close it."]
    assert talk.job.status["impeller"] == "done"


def test_a_bad_picture_is_kept_and_what_is_wrong_is_said() -> None:
    talk = bay()
    assert shown(talk, "It is dark.")[0] == "Photograph kept. It is dark."
    assert talk.entries(e.PhotographKept) == [e.PhotographKept("impeller", "edges", "It is dark.")]


def test_a_camera_that_shows_nothing_keeps_nothing_and_done_goes_on_without() -> None:
    talk = bay()
    talk.hear("part")
    said = talk.send(Scanned(talk.now_s, (), "", "The camera shows nothing."))
    assert said[0].startswith("The camera shows nothing. Say part to try again")
    assert talk.hear("done") == ["Close it."]
    assert talk.entries(e.PhotographKept) == []


def test_a_resumed_job_does_not_ask_again_for_what_is_kept() -> None:
    talk = bay()
    shown(talk)
    assert talk.resumed().said[-1] == "Say part for a photograph of the wear ring, or done without."


class Frames:
    def __init__(self, *frames: Picture) -> None:
        self.frames = list(frames)

    def frame(self) -> Picture | None:
        return self.frames.pop(0) if self.frames else None

    def close(self) -> None:
        self.frames = []


def checks(softness: float = 0) -> Picture:
    """A chess board, its edges softened by a Gaussian of so many pixels."""
    board = ((np.indices((240, 320)) // 20).sum(0) % 2 * 160 + 40).astype(np.uint8)
    soft = cv2.GaussianBlur(board, (0, 0), softness) if softness else board
    return np.repeat(soft[:, :, None], 3, 2)


@pytest.mark.parametrize("sharp", range(4))
def test_the_sharpest_frame_is_taken_wherever_it_comes(sharp: int, tmp_path: Path) -> None:
    frames = [checks(0 if n == sharp else 5) for n in range(4)]
    clock = count()
    seen = photograph(Frames(*frames), 60, lambda: float(next(clock)))
    assert seen.picture_png is not None
    kept = tmp_path / "kept.png"
    kept.write_bytes(seen.picture_png)
    assert (read_picture(kept) == frames[sharp]).all()
    assert seen.trouble == ""


def test_the_look_ends_with_its_seconds_and_with_the_camera() -> None:
    clock = count()
    camera = Frames(*[checks()] * 100)
    photograph(camera, 3, lambda: float(next(clock)))
    assert 90 < len(camera.frames) < 98
    assert photograph(Frames(), 3, lambda: 0.0).trouble == "The camera shows nothing."


@pytest.mark.parametrize(
    ("frame", "trouble"),
    [
        (checks() // 8, "It is dark."),
        (np.full((240, 320, 3), 255, np.uint8), "It shines."),
        (checks(4), "It is blurred."),
        (checks(), ""),
    ],
)
def test_what_is_wrong_with_it_is_told(frame: Picture, trouble: str) -> None:
    assert photograph(Frames(frame), 1, lambda: 0.0).trouble == trouble
