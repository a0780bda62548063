"""The program's end of the voice process: start it, send it lines, hand on what it answers, kill it."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from assistant.devices.voice.lines import Failed, Line, read, written


@dataclass(frozen=True)
class VoiceSettings:
    """How the assistant sounds.

    `voice` as espeak-ng names it, with a variant after a plus sign if wanted (`en-us`, `en-gb-x-rp+f3`); `output` is
    a sound device's number or a part of its name, "" the system's default.
    """

    voice: str = "en-us"
    words_per_minute: int = 165
    output: str = ""


class VoiceChild:
    """One voice process. `deliver(child, line)` is called from a thread of its own for every line, and with a
    `Failed` when the process ended without one.

    `environment` is added to that of the program (an ALSA_CONFIG_PATH, say).
    """

    def __init__(
        self,
        settings: VoiceSettings,
        deliver: Callable[[VoiceChild, Line], None],
        *,
        render_only: bool = False,
        environment: Mapping[str, str] | None = None,
    ) -> None:
        self._deliver = deliver
        self._folder = tempfile.TemporaryDirectory(prefix="layup-voice-")
        self._complaints = tempfile.TemporaryFile()  # noqa: SIM115 - lives as long as the process, closed in kill
        self._process = subprocess.Popen(
            _command(settings, Path(self._folder.name), render_only),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._complaints,
            text=True,
            encoding="utf-8",
            env={**os.environ, **(environment or {})},
            start_new_session=True,  # Ctrl-C in the terminal is the program's to answer
        )
        self.pid = self._process.pid
        self._listener = threading.Thread(target=self._listen, daemon=True, name="voice lines")
        self._listener.start()

    def send(self, line: Line) -> None:
        """Send it; a process that is gone says so by its Failed line."""
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(written(line))
            self._process.stdin.flush()
        except OSError:
            return

    def kill(self) -> None:
        """End it now, whatever it is doing, and clear up after it. Not from `deliver`."""
        self._process.kill()
        self._process.wait()
        self._listener.join()
        for stream in (self._process.stdin, self._process.stdout, self._complaints):
            assert stream is not None
            _close(stream.close)
        self._folder.cleanup()

    def _listen(self) -> None:
        assert self._process.stdout is not None
        last: Line | None = None
        for text in self._process.stdout:
            last = read(text)
            self._deliver(self, last)
        if not isinstance(last, Failed):
            self._deliver(self, self._ended())

    def _ended(self) -> Failed:
        status = self._process.wait()
        self._complaints.seek(0)
        said = self._complaints.read().decode("utf-8", "replace").strip().splitlines()
        why = f": {said[-1]}" if said and status > 0 else ""
        what = f"the voice process ended with status {status}{why}"
        return Failed(what, "voice", "look at the sound device (`layup devices`); the next text starts it again")


def _command(settings: VoiceSettings, folder: Path, render_only: bool) -> list[str]:
    command = [sys.executable, "-m", "assistant.devices.voice.speaker_process"]
    command += [f"--voice={settings.voice}", f"--words-per-minute={settings.words_per_minute}"]
    command += [f"--folder={folder}", f"--output={settings.output}"]
    return [*command, "--render-only"] if render_only else command


def _close(close: Callable[[], None]) -> None:
    try:
        close()
    except OSError:  # a line that the process never took is still in the pipe
        return
