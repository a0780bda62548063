"""The voice process: pyttsx3 over espeak-ng and the sound card, owned by one process that can be killed.

Run as `python -m assistant.devices.voice.speaker_process`; `child.py` starts it. Lines (lines.py) come in on standard
input and go out on standard output; at the end of its input it ends. The program itself never loads the engine: pyttsx3
wants one thread and is known to hang on a later utterance, and espeak-ng can be started once a process.

What was found in pyttsx3 2.99 on Linux, by reading it and trying it:
- its `say` runs `aplay` and looks at no exit status: a missing program or card is a silence that counts as said, and
  it cannot be stopped before its end. So samples are made with `save_to_file`, and the card is played from here;
- its `runAndWait` cancels whatever espeak-ng's own thread has not done yet: on a busy machine the rate that was just
  set, or the text. So espeak-ng is waited for (`Synchronize`) before each call;
- it prints to standard output, which is therefore turned to standard error before it is loaded;
- it writes 22 050 Hz in the file whatever the voice: right for every voice of espeak-ng's own.
"""

from __future__ import annotations

import argparse
import base64
import os
import queue
import shutil
import sys
import threading
import wave
from collections.abc import Callable
from pathlib import Path
from typing import IO

import numpy as np

from assistant.core.problems import DeviceTrouble
from assistant.devices.portaudio import as_device, portaudio
from assistant.devices.protocols import Samples
from assistant.devices.resampling import resample
from assistant.devices.voice.lines import (
    Ended,
    Failed,
    Line,
    Quieten,
    Ready,
    Render,
    Rendered,
    Speak,
    Started,
    read,
    written,
)

SPEECH_RATE_HZ = 22_050
_SYNTHESIS_WITHIN_S = 5.0
_PIECE_S = 0.02  # how long a hush may go unseen
_CARD_BUFFER_S = 0.1  # rides over a busy machine; the first sound does not wait for it to fill
_QUIET = 64  # of 32 767: below this espeak-ng's lead-in and end pause are cut off


class Synthesis:
    """pyttsx3's engine: text to samples at 22 050 Hz. For one thread."""

    def __init__(self, voice: str, words_per_minute: int, folder: Path) -> None:
        try:
            import pyttsx3
            from pyttsx3.drivers import _espeak

            self._engine = pyttsx3.init("espeak")
        except (ImportError, OSError, RuntimeError) as error:
            raise DeviceTrouble(
                f"the voice cannot be loaded: {error}", where="pyttsx3", do="install it: apt-get install espeak-ng"
            ) from error
        self._settle = _espeak.Synchronize
        self._settle()
        self._engine.proxy.setBusy(False)  # properties take effect when they are set, not with the first text
        self.folder = folder
        self._file = folder / "speech.wav"
        self._finished = threading.Event()
        self._engine.connect("finished-utterance", self._on_finished)
        self.voice = self._choose(voice)
        self._engine.setProperty("rate", words_per_minute)
        self._settle()

    def samples(self, text: str) -> Samples:
        """The text as sound, none for a text without anything to say; DeviceTrouble when pyttsx3 gives nothing."""
        if not text.strip():
            return np.zeros(0, np.int16)
        self._settle()
        self._finished.clear()
        self._file.unlink(missing_ok=True)
        self._engine.save_to_file(text, str(self._file))
        self._engine.runAndWait()
        if not (self._finished.wait(_SYNTHESIS_WITHIN_S) and self._file.exists()):
            raise DeviceTrouble(f"pyttsx3 made no sound of {text[:40]!r}", where="pyttsx3", do="say it again")
        with wave.open(str(self._file), "rb") as made:
            return _trimmed(np.frombuffer(made.readframes(made.getnframes()), "<i2").astype(np.int16))

    def _on_finished(self, name: str | None, completed: bool) -> None:  # noqa: ARG002 - pyttsx3 passes them by name
        self._finished.set()

    def _choose(self, voice: str) -> str:
        """Set the voice; `en-us`, its whole name `gmw/en-us`, or with a variant `en-us+f3`."""
        plain, plus, variant = voice.lower().partition("+")
        known = [str(one.id) for one in self._engine.getProperty("voices")]
        for name in known:
            if plain in (name, name.rpartition("/")[2]):
                self._engine.setProperty("voice", name + plus + variant)
                return name + plus + variant
        english = ", ".join(name.rpartition("/")[2] for name in known if "/en" in name)
        raise DeviceTrouble(f"espeak-ng has no voice {voice!r}", where="voice setting", do=f"choose one of {english}")


class SoundCard:
    """A sound card through PortAudio. Writes wait for the card; `play` comes back when the last sample has sounded."""

    def __init__(self, output: str) -> None:
        self._card = portaudio()
        device = as_device(output)
        try:
            found = self._card.query_devices(device, "output")
            self._rate_hz = self._accepted(device, (SPEECH_RATE_HZ, int(found["default_samplerate"])))
            self._stream = self._card.OutputStream(
                samplerate=self._rate_hz, device=device, channels=1, dtype="int16", latency=_CARD_BUFFER_S
            )
        except (self._card.PortAudioError, ValueError) as error:
            raise DeviceTrouble(
                f"there is no loudspeaker that can be used ({error})",
                where=f"sound device {output!r}" if output else "default sound device",
                do="plug in a headset and look at `layup devices`, or run with --voice silent",
            ) from error
        self.name = str(found["name"])

    def play(self, samples: Samples, hushed: Callable[[], bool], sounding: Callable[[], None]) -> None:
        """Play samples of 22 050 Hz; `sounding` is called when the first are with the card; stops when `hushed`."""
        sound = resample(samples, SPEECH_RATE_HZ, self._rate_hz)
        step = int(_PIECE_S * self._rate_hz)
        try:
            self._stream.start()
            for at in range(0, len(sound), step):
                if hushed():
                    self._stream.abort()
                    return
                self._stream.write(np.ascontiguousarray(sound[at : at + step]).reshape(-1, 1))
                if at == 0:
                    sounding()
            self._stream.stop()
        except self._card.PortAudioError as error:
            raise DeviceTrouble(
                f"the loudspeaker failed ({error})", where=self.name, do="plug it in again; `layup devices` lists them"
            ) from error

    def _accepted(self, device: int | str | None, rates_hz: tuple[int, ...]) -> int:
        for rate_hz in rates_hz[:-1]:
            try:
                self._card.check_output_settings(device=device, channels=1, dtype="int16", samplerate=rate_hz)
            except self._card.PortAudioError:
                continue
            return rate_hz
        return rates_hz[-1]


class VoiceProcess:
    """Takes lines, speaks or renders, answers. Lines are read in a second thread so that a Quieten is seen at once."""

    def __init__(self, synthesis: Synthesis, card: SoundCard | None, lines_in: IO[str], lines_out: IO[str]) -> None:
        self._synthesis, self._card, self._in, self._out = synthesis, card, lines_in, lines_out
        self._orders: queue.SimpleQueue[Line] = queue.SimpleQueue()
        self._quietened = -1

    def serve(self) -> None:
        """Until the input ends."""
        self.tell(Ready(self._synthesis.voice, self._card.name if self._card else ""))
        threading.Thread(target=self._take_orders, daemon=True).start()
        while True:
            order = self._orders.get()
            if isinstance(order, Speak):
                self._speak(order)
            elif isinstance(order, Render):
                made = base64.b64encode(self._synthesis.samples(order.text).astype("<i2").tobytes())
                self.tell(Rendered(order.number, SPEECH_RATE_HZ, made.decode("ascii")))

    def tell(self, line: Line) -> None:
        """Send one line to the program."""
        self._out.write(written(line))
        self._out.flush()

    def _speak(self, order: Speak) -> None:
        samples = self._synthesis.samples(order.text)
        if self._card and len(samples):
            started = Started(order.number, len(samples) / SPEECH_RATE_HZ)
            self._card.play(samples, lambda: self._quietened == order.number, lambda: self.tell(started))
        self.tell(Ended(order.number))

    def _take_orders(self) -> None:
        for text in self._in:
            line = read(text)
            if isinstance(line, Quieten):
                self._quietened = line.number
            else:
                self._quietened = -1  # a hush that came too late is not for a later text of the same number
                self._orders.put(line)
        # The program is gone: stop in the middle of a word, whatever pyttsx3 and the card are doing.
        shutil.rmtree(self._synthesis.folder, ignore_errors=True)
        os._exit(0)


def _trimmed(samples: Samples) -> Samples:
    loud = np.flatnonzero(np.abs(samples.astype(np.int32)) > _QUIET)
    if not len(loud):
        return samples[:0]
    keep = int(0.01 * SPEECH_RATE_HZ)
    return samples[max(0, loud[0] - keep) : loud[-1] + keep]


def main(arguments: list[str]) -> int:
    """Serve until the input ends; 1 after a Failed line."""
    lines_out = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    parser = argparse.ArgumentParser(prog="speaker_process")
    parser.add_argument("--voice", required=True)
    parser.add_argument("--words-per-minute", type=int, required=True)
    parser.add_argument("--folder", type=Path, required=True)
    parser.add_argument("--output", default="")
    parser.add_argument("--render-only", action="store_true")
    asked = parser.parse_args(arguments)
    try:
        synthesis = Synthesis(asked.voice, asked.words_per_minute, asked.folder)
        card = None if asked.render_only else SoundCard(asked.output)
        VoiceProcess(synthesis, card, sys.stdin, lines_out).serve()
    except DeviceTrouble as trouble:
        lines_out.write(written(Failed(trouble.what, trouble.where, trouble.do)))
        lines_out.flush()
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
