"""Looking until a label is sure, and saying why not."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator, Sequence
from itertools import count
from pathlib import Path

import cv2
import numpy as np
import pytest
from label_tables import LABELS

from assistant.core.events import Label
from assistant.core.problems import CallProblem, DeviceTrouble
from assistant.devices.camera import OpenCvCamera, PictureFiles
from assistant.devices.eyes import MORE_FRAMES, look
from assistant.devices.frame_quality import measure_frame
from assistant.devices.label_reader import ScriptedReader, ZbarReader
from assistant.devices.protocols import Camera, LabelReader, Picture

EAN = Label("EAN-13", "2990001000421")
OTHER = Label("EAN-13", "2990001000285")
LOT = Label("GS1-DATA-MATRIX", "10F2604")
CODE_39 = Label("CODE-39", "T3-1142")
MATRIX = Label("GS1-DATA-MATRIX", "01029900010005131734060010R118")
GREY = np.full((48, 64, 3), 90, np.uint8)


class Film:
    """A camera of these frames."""

    def __init__(self, frames: Sequence[Picture]) -> None:
        self.left = list(frames)

    def frame(self) -> Picture | None:
        return self.left.pop(0) if self.left else None

    def close(self) -> None:
        self.left = []


def each_second() -> Iterator[float]:
    return (float(s) for s in count())


def looked(script: list[tuple[Label, ...]], seconds: float = 60) -> tuple[tuple[Label, ...], str, int]:
    camera = Film([GREY] * 100)
    ticks = each_second()
    seen = look(camera, ScriptedReader(script), seconds, lambda: next(ticks))
    assert seen.picture_png is not None
    assert cv2.imdecode(np.frombuffer(seen.picture_png, np.uint8), cv2.IMREAD_COLOR).shape == GREY.shape
    return seen.labels, seen.trouble, 100 - len(camera.left)


@pytest.mark.parametrize(
    ("script", "labels", "frames"),
    [
        ([(EAN,), (EAN,)], (EAN,), 2),
        ([(EAN,), (), (EAN,)], (EAN,), 3),
        ([(EAN,), (OTHER,), (OTHER,)], (OTHER,), 3),
        ([(EAN, OTHER), (EAN,)], (EAN,), 2),
        ([(EAN, LOT), (EAN, OTHER), (OTHER,), (LOT,)], (EAN, LOT), 4),
        ([(EAN, OTHER), (EAN, OTHER)], (EAN, OTHER), 2),
        ([(CODE_39,), (CODE_39,)], (CODE_39,), 2),
        ([(EAN, CODE_39), (EAN, CODE_39)], (EAN, CODE_39), 2),
        ([(EAN, LOT), (EAN,), (EAN, LOT)], (EAN, LOT), 3),
        ([(EAN,), (EAN, LOT), (), (LOT,)], (EAN, LOT), 4),
        ([(EAN,), (EAN, LOT)], (EAN,), 2 + MORE_FRAMES),
        ([(EAN, EAN), (), ()], (), 10),
        ([(Label("CODE-39", "T3-1142"),), (Label("CODE-39", "T3-1147"),)], (), 10),
    ],
)
def test_two_frames_must_agree(script: list[tuple[Label, ...]], labels: tuple[Label, ...], frames: int) -> None:
    """A label is sure when two frames gave the same text; the same twice in one frame is one vote.

    What was read once beside a sure one has some frames more to be sure as well, and is then left.
    """
    assert (looked(script, seconds=10)[0], looked(script, seconds=10)[2]) == (labels, frames)


def test_a_label_that_the_reader_does_not_trust_is_not_sure_however_often_it_is_read() -> None:
    """And the technician hears that it is in doubt, not that nothing was seen."""
    reader = ScriptedReader([(EAN,)] * 20, doubted=frozenset({EAN}))
    seen = look(Film([GREY] * 20), reader, 60, lambda: 0.0)
    assert (seen.labels, seen.trouble) == ((), "I am not sure of that label: hold it closer.")


@pytest.mark.parametrize(
    ("closely", "labels"),
    [
        ((EAN,), (EAN,)),
        ((EAN, LOT), (EAN, LOT)),
        ((LOT,), (EAN, LOT)),
        ((EAN, OTHER), (EAN,)),
        ((OTHER,), ()),
        ((), (EAN,)),
    ],
    ids=["the same", "a lot too", "a lot alone", "another packet", "another in its place", "nothing"],
)
def test_what_is_sure_is_looked_at_closely_once(closely: tuple[Label, ...], labels: tuple[Label, ...]) -> None:
    """As a still is read: what stands beside it is found; another text of its kind in its place makes it doubtful."""
    seen = look(Film([GREY] * 5), ScriptedReader([(EAN,), (EAN,)], closely=closely), 60, lambda: 0.0)
    assert seen.labels == labels
    assert bool(seen.trouble) is not bool(labels)


def test_what_is_sure_is_given_when_the_time_is_up() -> None:
    """Waiting for the label beside it does not lose it."""
    assert looked([(EAN,), (EAN, LOT)], seconds=3)[::2] == ((EAN,), 3)


def test_the_picture_kept_is_one_that_shows_a_sure_label() -> None:
    """Not of the frames that were waited for in vain."""
    frames = [np.full((48, 64), shade, np.uint8) for shade in (10, 20, 30, 40, 50, 60, 70, 80)]
    seen = look(Film(frames), ScriptedReader([(EAN, LOT), (EAN,)]), 60, lambda: 0.0)
    assert seen.labels == (EAN,)
    assert seen.picture_png is not None
    assert cv2.imdecode(np.frombuffer(seen.picture_png, np.uint8), cv2.IMREAD_GRAYSCALE).max() == 20


@pytest.mark.parametrize("still", [True, False])
def test_all_labels_of_a_packet_are_given(tmp_path: Path, *, still: bool) -> None:
    """Two labels side by side, a linear one and a Data Matrix that only one of the decoders reads: both are sure."""
    both = np.hstack([cv2.imread(str(LABELS / f"{name}.png")) for name in ("spark_plug", "cover_oring_large")])
    cv2.imwrite(str(tmp_path / "both.png"), both)
    reader = ZbarReader(still=still)
    camera: Camera = PictureFiles([tmp_path / "both.png"]) if still else Film([both] * 15)
    assert look(camera, reader, 60, lambda: 0.0).labels == (MATRIX, EAN)
    reader.close()


def test_when_the_time_is_up_the_trouble_is_said() -> None:
    """Seen once is told from not seen at all; at least one frame is looked at."""
    assert looked([(EAN,)], seconds=5)[1] == "I read that label only once: hold it still."
    assert "closer" in looked([], seconds=0)[1]
    assert looked([], seconds=0)[2] == 1


def test_a_camera_at_its_end_gives_up_at_once() -> None:
    """No frames at all: no picture, and the trouble says so."""
    seen = look(Film([]), ScriptedReader([]), 5, lambda: 0.0)
    assert (seen.labels, seen.picture_png, seen.trouble) == ((), None, "The camera shows nothing.")


def test_one_look_takes_one_still_picture() -> None:
    """Each demo picture in turn is sure from its one frame, Code 39 because both decoders agree; then none are left."""
    files = PictureFiles([LABELS / "spark_plug.png", LABELS / "drain_washer.png"])
    reader = ZbarReader(still=True)
    assert [look(files, reader, 5, lambda: 0.0).labels for _ in range(3)] == [(EAN,), (CODE_39,), ()]
    assert look(files, reader, 5, lambda: 0.0).trouble == "There are no more pictures."
    reader.close()


@pytest.mark.parametrize(("confirmed", "labels"), [(frozenset({CODE_39}), (CODE_39,)), (frozenset(), ())])
def test_a_still_without_check_needs_both_decoders(confirmed: frozenset[Label], labels: tuple[Label, ...]) -> None:
    """One reading of a symbol that carries no check is not believed."""
    seen = look(PictureFiles([LABELS / "anode.png"]), ScriptedReader([(CODE_39,)], confirmed), 5, lambda: 0.0)
    assert seen.labels == labels
    assert bool(seen.trouble) is not bool(labels)


SPOILED = [
    ("as it is", lambda p: p, "closer"),
    ("dark", lambda p: p * 0.3, "dark"),
    ("bright", lambda p: p * 4.0 + 60, "shines"),
    ("soft", lambda p: cv2.GaussianBlur(p, (0, 0), 6), "blurred"),
    ("moved", lambda p: cv2.blur(cv2.blur(p, (45, 9)), (25, 9)), "blurred"),
    ("bare wall", lambda p: p * 0 + 120, "closer"),
]


@pytest.mark.parametrize("picture", sorted(LABELS.glob("*.png")), ids=lambda p: p.stem)
@pytest.mark.parametrize(("name", "spoil", "word"), SPOILED, ids=lambda x: x if isinstance(x, str) else "")
def test_the_trouble_is_measured_from_the_frame(picture: Path, name: str, spoil: object, word: str) -> None:
    """Each demo picture spoiled one way gets the advice that mends it."""
    clean = cv2.imread(str(picture)).astype(np.float32)
    spoiled = np.clip(spoil(clean), 0, 255).astype(np.uint8)
    assert word in measure_frame(spoiled).trouble()


@pytest.mark.parametrize(("module_px", "words"), [(1, "too small"), (3, "turn it")])
def test_bars_that_are_not_read_are_told_from_nothing(module_px: int, words: str) -> None:
    """By their breadth: an EAN-13's 95 modules at one pixel each need to come closer, at three something else is wrong."""
    bars = np.repeat(np.random.default_rng(4).integers(0, 2, 95), module_px) * 180 + 40
    picture = np.full((480, 640), 220, np.uint8)
    picture[200:260, 150 : 150 + bars.size] = bars
    assert words in measure_frame(picture).trouble()


def test_a_video_is_looked_at_frame_by_frame(tmp_path: Path) -> None:
    """Two frames of a film of the plug's packet agree; after its end and after close there are none."""
    path = tmp_path / "plug.avi"
    picture = cv2.imread(str(LABELS / "oil_filter_wrong.png"))
    film = cv2.VideoWriter(str(path), cv2.VideoWriter.fourcc(*"MJPG"), 10, picture.shape[1::-1])
    for _ in range(4):
        film.write(picture)
    film.release()
    camera, reader = OpenCvCamera(path), ZbarReader()
    assert look(camera, reader, 60, lambda: 0.0).labels == (OTHER,)
    ended = [camera.frame() is None for _ in range(4)]
    assert (ended[0], ended[-1]) == (False, True)
    camera.close()
    camera.close()
    assert camera.frame() is None
    reader.close()


def test_cameras_and_readers_keep_their_protocols() -> None:
    """The real parts and the doubles are what the bench asks for."""
    assert isinstance(PictureFiles([]), Camera)
    assert isinstance(ScriptedReader([]), LabelReader)
    reader = ZbarReader()
    assert isinstance(reader, LabelReader)
    reader.close()


def test_closed_picture_files_show_no_more() -> None:
    """Close lets the rest go."""
    files = PictureFiles([LABELS / "anode.png"])
    files.close()
    assert files.frame() is None


@pytest.mark.skipif(Path("/dev/video99").exists(), reason="this machine has a hundred cameras")
def test_a_camera_that_is_not_there_is_said_at_once_and_quietly(tmp_path: Path) -> None:
    """DeviceTrouble naming the number, CallProblem for a video that is none; nothing from OpenCV on standard error."""
    (tmp_path / "no.mp4").write_bytes(b"no film" * 100)
    script = (
        "import sys; from pathlib import Path; from assistant.devices.camera import OpenCvCamera\n"
        "from assistant.core.problems import LayupProblem\n"
        "for source in (99, Path(sys.argv[1])):\n"
        "    try: OpenCvCamera(source)\n"
        "    except LayupProblem as e: print(type(e).__name__, e.exit_status)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, tmp_path / "no.mp4"], capture_output=True, text=True, timeout=20, check=True
    )
    assert done.stdout.split("\n")[:2] == ["DeviceTrouble 1", "CallProblem 2"]
    assert done.stderr == ""


def test_problems_say_which_camera_or_video(tmp_path: Path) -> None:
    """The number or the path stands in the message."""
    with pytest.raises(DeviceTrouble, match="camera 99"):
        OpenCvCamera(99)
    with pytest.raises(CallProblem, match=r"none\.mp4"):
        OpenCvCamera(tmp_path / "none.mp4")
