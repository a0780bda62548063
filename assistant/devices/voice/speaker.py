"""The assistant's voice on a loudspeaker: one voice process at a time, watched, and put right once before trouble is
called.

One thread of this program takes everything that happens (a text to say, a hush, a line of the voice process, too long
a silence from it), one after the other, and calls every callback. So `done` comes once for each text and in their
order.

    nothing to say --say--> speaking (1st try) --Ended--> next text
                              | process ends, or gives no sign in time: killed, a new one started
                              v
                            speaking (2nd try) --the same again--> trouble called, done called, next text (1 try)
    speaking --hush--> quietening --Ended, or 0.5 s gone: killed--> done for it and for all that waited
"""

from __future__ import annotations

import queue
import threading
import time
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from assistant.core.problems import DeviceTrouble
from assistant.devices.voice.child import VoiceChild, VoiceSettings
from assistant.devices.voice.lines import Ended, Failed, Line, Quieten, Ready, Speak, Started

_READY_WITHIN_S = 15.0  # about 0.4 s on an idle machine
_HUSHED_WITHIN_S = 0.5


@dataclass(frozen=True)
class _Wanted:
    number: int
    text: str
    done: Callable[[int], None]


class _Hush:
    """Stop, and drop what waits."""


class _Close:
    """Stop, drop what waits, and end."""


@dataclass
class _Speaking:
    wanted: _Wanted
    tries: int
    announced: bool = False
    dropped: list[_Wanted] | None = None  # after a hush: these are done together with it


@dataclass
class _Process:
    """The voice process of now, and when its silence becomes too long (inf: nothing is awaited)."""

    child: VoiceChild
    ready: bool = False
    sign_by_s: float = field(default=float("inf"))


def _unheard(*_: object) -> None:
    """A callback nobody asked for."""


class ProcessSpeaker:
    """`Speaker` on a sound card. Callbacks come from the speaker's own thread and must be short and raise nothing.

    `started(number)`: its first samples are with the sound card (once, even if it is said again).
    `trouble(problem)`: a text could not be said even by a second
    voice process; once, until `back()` says that a text has been said again. `margin_s`: how long the voice process
    may be silent beyond what it announced. The constructor waits until the voice is ready (about 0.4 s), and raises
    DeviceTrouble where there is no loudspeaker, no such voice, or no espeak-ng.
    """

    def __init__(
        self,
        settings: VoiceSettings | None = None,
        *,
        started: Callable[[int], None] = _unheard,
        trouble: Callable[[DeviceTrouble], None] = _unheard,
        back: Callable[[], None] = _unheard,
        margin_s: float = 3.0,
        environment: Mapping[str, str] | None = None,
    ) -> None:
        self._settings = settings or VoiceSettings()
        self._started, self._trouble, self._back = started, trouble, back
        self._margin_s = margin_s
        self._environment = environment
        self._inbox: queue.SimpleQueue[_Wanted | _Hush | _Close | tuple[VoiceChild, Line]] = queue.SimpleQueue()
        self._waiting: deque[_Wanted] = deque()
        self._speaking: _Speaking | None = None
        self._in_trouble = False
        self._process: _Process | None = self._start()
        self._wait_for_voice(self._process)
        self._thread = threading.Thread(target=self._serve, daemon=True, name="speaker")
        self._thread.start()

    @property
    def voice_pid(self) -> int | None:
        """The voice process of now, None while there is none."""
        return self._process.child.pid if self._process else None

    def say(self, number: int, text: str, done: Callable[[int], None]) -> None:
        """Queue one text. After `close` it is done at once."""
        if self._thread.is_alive():
            self._inbox.put(_Wanted(number, text, done))
        else:
            done(number)

    def hush(self) -> None:
        """Stop within about 20 ms of sound, and drop what waits; their `done` follow."""
        self._inbox.put(_Hush())

    def close(self) -> None:
        """Hush, end the voice process, and wait for both. Not from a callback."""
        self._inbox.put(_Close())
        self._thread.join()

    # What follows runs in the speaker's thread.

    def _serve(self) -> None:
        while True:
            try:
                happened = self._inbox.get(timeout=self._patience_s())
            except queue.Empty:
                self._failed(self._no_sign())
                continue
            if isinstance(happened, _Close):
                break
            if isinstance(happened, _Wanted):
                self._waiting.append(happened)
            elif isinstance(happened, _Hush):
                self._hush()
            else:
                self._answered(*happened)
            self._go_on()
        self._kill()
        self._all_done()

    def _go_on(self) -> None:
        """Hand the next text to the voice process if it is free, starting one if need be."""
        if self._speaking is None:
            if not self._waiting:
                return
            self._speaking = _Speaking(self._waiting.popleft(), tries=2 if self._in_trouble else 1)
            if self._process is None:
                self._process = self._start()
            self._send()

    def _send(self) -> None:
        """Sent when the process is ready, which Ready will tell."""
        if self._process and self._process.ready and self._speaking:
            self._process.sign_by_s = time.monotonic() + self._margin_s
            self._process.child.send(Speak(self._speaking.wanted.number, self._speaking.wanted.text))

    def _answered(self, child: VoiceChild, line: Line) -> None:
        if self._process is None or child is not self._process.child:
            return  # a last word of one that was killed
        if isinstance(line, Ready):
            self._process.ready, self._process.sign_by_s = True, float("inf")
            self._send()
        elif isinstance(line, Failed):
            self._failed(DeviceTrouble(line.what, where=line.where, do=line.do))
        elif isinstance(line, Started) and self._speaking and self._speaking.dropped is None:
            self._process.sign_by_s = time.monotonic() + line.duration_s + self._margin_s
            if not self._speaking.announced:
                self._speaking.announced = True
                self._started(line.number)
        elif isinstance(line, Ended):
            self._process.sign_by_s = float("inf")
            self._said()

    def _said(self) -> None:
        self._done_speaking()
        if self._in_trouble:
            self._in_trouble = False
            self._back()

    def _failed(self, problem: DeviceTrouble) -> None:
        """The voice process ended or gave no sign: once more with a new one, or trouble."""
        self._kill()
        if self._speaking is None:
            return  # a new one starts with the next text
        if self._speaking.dropped is not None:
            self._done_speaking()
        elif self._speaking.tries == 1:
            self._speaking.tries = 2
            self._process = self._start()
        else:
            if not self._in_trouble:
                self._in_trouble = True
                self._trouble(problem)
            self._done_speaking()
        self._go_on()

    def _hush(self) -> None:
        if self._speaking is None:
            return
        already = self._speaking.dropped or []
        self._speaking.dropped = [*already, *self._waiting]
        self._waiting.clear()
        if self._process and self._process.ready:
            self._process.child.send(Quieten(self._speaking.wanted.number))
            self._process.sign_by_s = time.monotonic() + _HUSHED_WITHIN_S
        else:
            self._done_speaking()  # its process was still starting: nothing sounds

    def _done_speaking(self) -> None:
        speaking, self._speaking = self._speaking, None
        if speaking:
            for wanted in (speaking.wanted, *(speaking.dropped or ())):
                wanted.done(wanted.number)

    def _all_done(self) -> None:
        self._done_speaking()
        while self._waiting or not self._inbox.empty():
            wanted = self._waiting.popleft() if self._waiting else self._inbox.get()
            if isinstance(wanted, _Wanted):
                wanted.done(wanted.number)

    def _patience_s(self) -> float | None:
        if self._process is None or self._process.sign_by_s == float("inf"):
            return None
        return max(0.0, self._process.sign_by_s - time.monotonic())

    def _no_sign(self) -> DeviceTrouble:
        return DeviceTrouble(
            f"the voice gave no sign for {self._margin_s:g} s more than it may",
            where="loudspeaker",
            do="look at the sound device (`layup devices`)",
        )

    def _start(self) -> _Process:
        child = VoiceChild(
            self._settings, lambda child, line: self._inbox.put((child, line)), environment=self._environment
        )
        return _Process(child, sign_by_s=time.monotonic() + _READY_WITHIN_S)

    def _kill(self) -> None:
        if self._process:
            self._process.child.kill()
            self._process = None

    def _wait_for_voice(self, process: _Process) -> None:
        """In the constructor: only the voice process has written to the inbox so far."""
        try:
            happened = self._inbox.get(timeout=_READY_WITHIN_S)
        except queue.Empty:
            happened = (process.child, Failed("the voice did not start", "voice process", "try again"))
        assert isinstance(happened, tuple)
        line = happened[1]
        if isinstance(line, Failed):
            self._kill()
            raise DeviceTrouble(line.what, where=line.where, do=line.do)
        process.ready, process.sign_by_s = True, float("inf")
