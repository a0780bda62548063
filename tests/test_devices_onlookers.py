"""What goes along with a look: the window in its own process, and the rising tone."""

from __future__ import annotations

import io
import socket
import sys
import threading
from itertools import pairwise

import cv2
import numpy as np
import pytest
from label_tables import LABELS

from assistant.core.events import Label
from assistant.core.problems import DeviceTrouble
from assistant.devices.eyes import look
from assistant.devices.label_reader import ScriptedReader
from assistant.devices.looking_tone import HIGHEST_HZ, LOUDNESS, LOWEST_HZ, rising_tone
from assistant.devices.protocols import RATE_HZ, Picture
from assistant.devices.window import EyesWindow, drawn, received, sent, show_all

EAN = Label("EAN-13", "2990001000421")


class Frames:
    """A camera of so many frames, which then is lost."""

    def __init__(self, frames: int) -> None:
        self.left = frames

    def frame(self) -> Picture | None:
        if self.left == 0:
            raise DeviceTrouble("the camera is gone", do="look at its plug")
        self.left -= 1
        return np.full((48, 64, 3), 90, np.uint8)

    def close(self) -> None:
        pass


class Onlooker:
    """Keeps what it is shown."""

    def __init__(self) -> None:
        self.shown: list[tuple[Label, ...]] = []
        self.closed = 0

    def show(self, picture: Picture, labels: tuple[Label, ...]) -> None:
        self.shown.append(labels)

    def close(self) -> None:
        self.closed += 1


def test_an_onlooker_sees_every_frame_and_is_closed() -> None:
    """With the labels read so far; closed once when a label is sure, and when the camera is lost."""
    one = Onlooker()
    look(Frames(9), ScriptedReader([(), (EAN,), (EAN,)]), 60, lambda: 0.0, (one,))
    assert (one.shown, one.closed) == ([(), (EAN,), (EAN,)], 1)
    other = Onlooker()
    with pytest.raises(DeviceTrouble):
        look(Frames(1), ScriptedReader([]), 60, lambda: 0.0, (other,))
    assert (len(other.shown), other.closed) == (1, 1)


def test_what_is_drawn_leaves_the_frame_as_it_is() -> None:
    """The picture itself is kept with the job: rings and words go on a copy, in colour whatever the frame is."""
    picture = cv2.imread(str(LABELS / "spark_plug.png"))
    before = picture.copy()
    for frame in (picture, cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)):
        shown = drawn(frame, (EAN, Label("GS1-128", "0102990001000117\x1d21")))
        assert shown.shape == picture.shape
        assert np.abs(shown.astype(int) - cv2.cvtColor(cv2.cvtColor(picture, 6), 8)).max() > 100
    assert (picture == before).all()


def test_pictures_go_through_the_pipe_whole_and_a_torn_one_ends_it() -> None:
    """Two pictures and the half of a third: two come out, nearly as they were."""
    pictures = [np.full((48, 64, 3), grey, np.uint8) for grey in (40, 200)]
    stream = b"".join(map(sent, pictures))
    for tail in (b"", b"\0", b"\0\0\0\x09half"):
        out = list(received(io.BytesIO(stream + tail)))
        assert [round(float(p.mean()), -1) for p in out] == [40, 200]
    titles: list[str] = []
    show_all(io.BytesIO(stream), lambda title, _: titles.append(title), lambda _: None)
    assert len(titles) == 2


def test_a_window_that_is_gone_does_not_stop_the_look(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its process ends at once: frames are shown to nobody, and closing twice is well. No screen is said beforehand."""
    monkeypatch.setenv("DISPLAY", ":0")
    window = EyesWindow((sys.executable, "-c", ""))
    for _ in range(3):
        window.show(np.full((480, 640), 90, np.uint8), ())
    window.close()
    window.close()
    if sys.platform.startswith("linux"):
        monkeypatch.delenv("DISPLAY")
        monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
        with pytest.raises(DeviceTrouble, match="screen"):
            EyesWindow()


TAKES_NOTHING = (sys.executable, "-c", "import time; time.sleep(600)")
TELLS_WHAT_IT_GETS = (
    "import os, socket, sys; s = socket.create_connection(('127.0.0.1', int(sys.argv[1])))\n"
    "while got := os.read(0, 65536): s.sendall(got)"
)


@pytest.fixture
def a_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DISPLAY", ":0")


@pytest.mark.usefixtures("a_screen")
def test_a_window_that_hangs_does_not_stop_the_look() -> None:
    """Its process takes nothing out of the pipe, which fills: the look goes on to its end all the same."""
    window, over = EyesWindow(TAKES_NOTHING), threading.Event()
    large = np.random.default_rng(1).integers(0, 255, (720, 1280, 3), np.uint8)  # 1.5 MB as a JPEG, a pipe takes 64 kB

    def show_many() -> None:
        for _ in range(20):
            window.show(large, ())
        window.close()
        over.set()

    threading.Thread(target=show_many, daemon=True).start()
    assert over.wait(30)


@pytest.mark.usefixtures("a_screen")
def test_a_window_is_sent_the_frames() -> None:
    """What its process gets is the picture; a process that cannot be begun is no trouble of the look's."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(30)
        window = EyesWindow((sys.executable, "-c", TELLS_WHAT_IT_GETS, str(server.getsockname()[1])))
        window.show(np.full((48, 64, 3), 200, np.uint8), ())
        connection, _ = server.accept()
        connection.settimeout(30)
        with connection, connection.makefile("rb") as pipe:
            shown = next(received(pipe))
            window.close()
    assert (shown.shape, round(float(shown[:8].mean()), -1)) == ((48, 64, 3), 200)
    nowhere = EyesWindow(("/no/such/program",))
    nowhere.show(np.full((48, 64, 3), 200, np.uint8), ())
    nowhere.close()


def test_the_tone_rises_and_is_soft() -> None:
    """The strongest frequency of the first beep is the lowest pitch, of the last one near the highest; mostly silence."""
    sound = rising_tone(12.0)
    assert sound.size == 12 * RATE_HZ
    assert np.abs(sound).max() <= LOUDNESS * 32768
    assert (sound == 0).mean() > 0.8

    def strongest_hz(part: np.ndarray) -> float:
        return float(np.fft.rfftfreq(65536, 1 / RATE_HZ)[np.abs(np.fft.rfft(part.astype(float), 65536)).argmax()])

    second = RATE_HZ // 2
    parts = [
        strongest_hz(sound[at : at + second])
        for at in range(0, sound.size - second, second)
        if sound[at : at + second].any()
    ]
    assert parts[0] == pytest.approx(LOWEST_HZ, abs=15)
    assert parts[-1] == pytest.approx(HIGHEST_HZ, rel=0.08)
    assert all(b > a - 8 for a, b in pairwise(parts))
