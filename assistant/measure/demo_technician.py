"""The demo's technician: listens to what the assistant says, and answers with one of his recordings.

He knows what he measured. What is read back wrong he corrects, what is asked he answers, what was not understood he says again.
He hears the assistant's words, as a technician does; the assistant hears his recordings, never his script.
"""

from __future__ import annotations

import json
from collections import deque
from dataclasses import asdict
from pathlib import Path

from assistant.core.effects import Say
from assistant.devices.camera import PictureFiles
from assistant.devices.protocols import Camera, Samples
from assistant.devices.sound_file import read_sound
from assistant.measure.demo_script import NOT_HEARD, Line, Script


def _remembered(memory: Path | None) -> tuple[str, int]:
    """The step he was at, and how many of its lines he has said."""
    if memory is None or not memory.is_file():
        return "", 0
    row = json.loads(memory.read_text(encoding="utf-8"))
    return row["step"], row["said"]


PATIENCE = 4
"""How often he says one thing at a step before he skips it."""


class DemoTechnician:
    """A `Technician` with a script, recordings and label pictures."""

    def __init__(self, script: Script, recordings: Path, pictures: Path, memory: Path | None = None) -> None:
        """`memory`: a file that outlives the program, as a technician's memory outlives a power cut."""
        self._script = script
        self._memory = memory
        self._recordings = recordings
        self._pictures = pictures
        self._step, told = _remembered(memory)
        self._lines: deque[Line] = deque(script.steps.get(self._step, ())[told:])
        self._now: Line | None = None
        self._last: Line | None = None
        self._tries = 0
        self._gave_up = False

    def reply(self, said: tuple[Say, ...]) -> Samples | None:
        """His next recording."""
        line = self._answer(said)
        if line is None:
            return None
        self._tries = self._tries + 1 if self._last == line else 0
        if self._tries > PATIENCE:
            if self._gave_up:
                return None
            line, self._tries, self._gave_up = self._give_up(), 0, True
        self._last = line
        if self._memory is not None:
            told = len(self._script.steps.get(self._step, ())) - len(self._lines)
            self._memory.write_text(json.dumps({"step": self._step, "said": told}), encoding="utf-8")
        return read_sound(self._recordings / line.file)

    def _give_up(self) -> Line:
        """He is not understood: he skips the step and says why."""
        self._lines.clear()
        self._now = Line(**{**asdict(self._script.plain("unable")), "remark": NOT_HEARD})
        return self._now

    def open_camera(self) -> Camera:
        """What he holds up: the picture of the line that he is at."""
        assert self._now is not None
        return PictureFiles([self._pictures / self._now.picture])

    def _answer(self, said: tuple[Say, ...]) -> Line | None:
        """What he answers to all that was said since he last spoke."""
        wrong = self._misheard(said)
        for one in said:
            if one.step != self._step and one.step:
                self._step, self._gave_up, self._tries = one.step, False, 0
                self._lines = deque(self._script.steps.get(one.step, ()))
        if wrong is not None:
            return wrong
        last = said[-1] if said else None
        if last is None or last.about == "unclear":
            return self._last
        match last.about:
            case "finished":
                return None
            case "caution":
                return self._script.plain("roger")
            case "condition":
                return self._script.plain("affirm")
            case "remark" if self._now is not None and self._now.remark and "kept" not in last.text:
                return self._script.plain(self._now.remark)
            case "question":
                return self._to_question(last.text)
            case _:
                return self._next()

    def _misheard(self, said: tuple[Say, ...]) -> Line | None:
        """The correction, when a value was read back that he did not mean."""
        now = self._now
        for one in said:
            if one.about == "read back" and now is not None and now.means and now.means not in one.text:
                return now.corrected()
        return None

    def _to_question(self, text: str) -> Line | None:
        now = self._now
        if "take it all the same" in text:
            return self._script.plain("negative")
        if "another one" in text:
            return self._script.plain("affirm")
        if now is None:
            return self._last
        if text.endswith("Affirm?"):
            return self._script.plain("affirm" if now.means and now.means in text else "negative")
        return now.again()

    def _next(self) -> Line:
        """The step's next line, or *done* when there is none."""
        self._now = self._lines.popleft() if self._lines else self._script.plain("done")
        return self._now
