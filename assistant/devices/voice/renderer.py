"""The assistant's voice as samples, and a Speaker made of it for a clock that is not the wall's.

Samples come from the same voice process as the loudspeaker's (speaker_process.py), which then needs no sound card.
"""

from __future__ import annotations

import base64
import queue
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from assistant.core.problems import DeviceTrouble
from assistant.devices.protocols import RATE_HZ, Samples
from assistant.devices.resampling import resample
from assistant.devices.voice.child import VoiceChild, VoiceSettings
from assistant.devices.voice.conversation import ConversationTrack
from assistant.devices.voice.lines import Failed, Line, Ready, Render, Rendered

_ANSWER_WITHIN_S = 15.0
_NOTHING = Failed(f"the voice rendered nothing for {_ANSWER_WITHIN_S:g} s", "voice process", "try again")


class Renderer:
    """Text to samples of 16 kHz; each text is rendered once and kept. For one thread; `close` ends the voice process.

    A voice process that fails is started again once for each text; then DeviceTrouble.
    """

    def __init__(self, settings: VoiceSettings | None = None) -> None:
        self._settings = settings or VoiceSettings()
        self._kept: dict[str, Samples] = {}
        self._child: VoiceChild | None = None
        self._lines: queue.SimpleQueue[tuple[VoiceChild, Line]] = queue.SimpleQueue()
        self._count = 0

    def render(self, text: str) -> Samples:
        """The text as it is spoken, without quiet before or after."""
        if text not in self._kept:
            try:
                self._kept[text] = self._rendered(text)
            except DeviceTrouble:
                self._kept[text] = self._rendered(text)
        return self._kept[text]

    def close(self) -> None:
        """End the voice process; the next text starts a new one."""
        if self._child:
            self._child.kill()
            self._child = None

    def _rendered(self, text: str) -> Samples:
        if self._child is None:
            self._child = VoiceChild(self._settings, lambda *line: self._lines.put(line), render_only=True)
        self._count += 1
        self._child.send(Render(self._count, text))
        line = self._answer()
        while isinstance(line, Ready):
            line = self._answer()
        if not isinstance(line, Rendered):
            self.close()
            trouble = line if isinstance(line, Failed) else _NOTHING
            raise DeviceTrouble(trouble.what, where=trouble.where, do=trouble.do)
        samples = np.frombuffer(base64.b64decode(line.samples), "<i2").astype(np.int16)
        return resample(samples, line.rate_hz, RATE_HZ)

    def _answer(self) -> Line:
        """The next line of the process of now, not of one that was killed."""
        while True:
            try:
                child, line = self._lines.get(timeout=_ANSWER_WITHIN_S)
            except queue.Empty:
                return _NOTHING
            if child is self._child:
                return line


@dataclass(frozen=True)
class Spoken:
    """A text on the clock's timeline: from `began_s` to `ended_s` if nothing hushes it."""

    number: int
    text: str
    began_s: float
    ended_s: float

    @property
    def duration_s(self) -> float:
        """How long it takes."""
        return self.ended_s - self.began_s


class RenderedSpeaker:
    """`Speaker` on a clock of the caller's: what it says goes onto a conversation's track, at the clock's time.

    `say` answers at once with nothing done yet: each text begins at `now_s()` or when the one before ends. Whoever
    owns the clock looks at `next_end_s`, moves the clock there and calls `run_to`, which calls the `done` that have
    come due. `hush` cuts the text of now off at `now_s()`. For one thread.
    """

    def __init__(
        self,
        renderer: Renderer,
        track: ConversationTrack,
        now_s: Callable[[], float],
        spoken: Callable[[Spoken], None] | None = None,
        who: str = "assistant",
    ) -> None:
        self._renderer, self._track, self._now_s, self._spoken, self._who = renderer, track, now_s, spoken, who
        self._due: deque[tuple[Spoken, Samples, Callable[[int], None]]] = deque()

    @property
    def next_end_s(self) -> float | None:
        """When the text of now will have been said; None while nothing is being said."""
        return self._due[0][0].ended_s if self._due else None

    def say(self, number: int, text: str, done: Callable[[int], None]) -> None:
        """Queue one text; `spoken` is told when on the clock it will sound."""
        samples = self._renderer.render(text)
        began_s = max(self._now_s(), self._due[-1][0].ended_s if self._due else 0.0)
        spoken = Spoken(number, text, began_s, began_s + len(samples) / RATE_HZ)
        self._due.append((spoken, samples, done))
        if self._spoken:
            self._spoken(spoken)

    def run_to(self, at_s: float) -> None:
        """The clock is at `at_s`: everything said by then is done, in order."""
        while self._due and self._due[0][0].ended_s <= at_s:
            self._finish(*self._due.popleft())

    def hush(self) -> None:
        """Cut off what is being said now; what has not begun is not on the track."""
        now_s = self._now_s()
        self.run_to(now_s)
        dropped, self._due = self._due, deque()
        for spoken, samples, done in dropped:
            self._finish(spoken, samples[: max(0, round((now_s - spoken.began_s) * RATE_HZ))], done)

    def close(self) -> None:
        """Hush, and let go of the voice process."""
        self.hush()
        self._renderer.close()

    def _finish(self, spoken: Spoken, samples: Samples, done: Callable[[int], None]) -> None:
        if len(samples):
            self._track.add(spoken.began_s, samples, self._who)
        done(spoken.number)
