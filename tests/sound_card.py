"""A sound card of ALSA's own plugins, in real time: its microphone hears what a test plays, its loudspeaker is a file."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections import deque
from pathlib import Path

import numpy as np

from assistant.devices.protocols import RATE_HZ, Samples

BLOCK = 512
PACE = """
import sys, time
played, bytes_a_second = open(sys.argv[1], "wb"), 44100
began, count = time.monotonic(), 0
while some := sys.stdin.buffer.read1(882):
    played.write(some)
    played.flush()
    count += len(some)
    time.sleep(max(0.0, began + count / bytes_a_second - time.monotonic()))
"""
CONFIGURATION = """
pcm.!default {{ type asym playback.pcm "loud" capture.pcm "ear" }}
pcm.loud {{ type plug slave {{ pcm "kept" rate 22050 channels 1 format S16_LE }} }}
pcm.kept {{ type file slave.pcm "nothing" file "| exec {python} {pace} {played}" format "raw" }}
pcm.ear {{ type plug slave {{ pcm "recorded" rate 16000 channels 1 format S16_LE }} }}
pcm.recorded {{ type file slave.pcm "nothing" file "/dev/null" infile "{pipe}" format "raw" }}
pcm.nothing {{ type null }}
"""


class SoundCard:
    """`play` queues sound for the microphone; between sounds it hears silence."""

    def __init__(self, folder: Path) -> None:
        self.played = folder / "played.raw"
        self._pipe = folder / "microphone.raw"
        os.mkfifo(self._pipe)
        (folder / "pace.py").write_text(PACE)
        names = {"python": sys.executable, "pace": folder / "pace.py", "played": self.played, "pipe": self._pipe}
        (folder / "asound.conf").write_text(CONFIGURATION.format(**names))
        self.environment = {**os.environ, "ALSA_CONFIG_PATH": str(folder / "asound.conf")}
        self._sounds: deque[Samples] = deque()
        self._ended = threading.Event()
        threading.Thread(target=self._feed, daemon=True).start()

    def play(self, samples: Samples) -> None:
        """The microphone hears this next."""
        self._sounds.append(samples)

    def close(self) -> None:
        """No more sound."""
        self._ended.set()

    def _feed(self) -> None:
        while not self._ended.is_set():
            try:
                with self._pipe.open("wb", buffering=0) as pipe:
                    self._write_until_closed(pipe)
            except BrokenPipeError:
                continue  # PortAudio opens every device once to look at it

    def _write_until_closed(self, pipe: object) -> None:
        began, count = time.monotonic(), 0
        rest = np.zeros(0, np.int16)
        while not self._ended.is_set():
            if not len(rest) and self._sounds:
                rest = self._sounds.popleft()
            block, rest = rest[:BLOCK], rest[BLOCK:]
            pipe.write(np.pad(block, (0, BLOCK - len(block))).astype("<i2").tobytes())  # type: ignore[attr-defined]
            count += BLOCK
            self._ended.wait(max(0.0, began + count / RATE_HZ - time.monotonic()))
