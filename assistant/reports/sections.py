"""What a report is made of: a step with its values, parts and remarks; what happened to devices and to the clock."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.reports.values import Value


@dataclass(frozen=True)
class Part:
    """A label that was read. `kept`: it was taken for this job, `count` pieces of it."""

    sequence: int
    time: str
    step: str
    role: str
    answer: str
    kept: bool
    gtin: str
    number: str
    lot: str
    serial: str
    expiry: str
    text: str
    why: str
    clip: str
    count: int = 1

    @property
    def pieces(self) -> str:
        """ "3 pieces" where more than one was taken, else ""."""
        return f"{self.count} pieces" if self.kept and self.count > 1 else ""


@dataclass(frozen=True)
class Remark:
    """A note or a finding, as sound and, unchecked, as words.

    `written`: the words are the procedure's own, for a value that is not as it should be; the entry and clip are the value's.
    """

    sequence: int
    time: str
    step: str
    about: str
    words: str
    clip: str
    written: bool = False


@dataclass(frozen=True)
class Photograph:
    """A picture that the step wanted: `of` what, and the trouble with it ("" none)."""

    sequence: int
    time: str
    step: str
    of: str
    trouble: str
    clip: str


@dataclass(frozen=True)
class StepReport:
    """One step: `status` is done, unable, passed over or open; times are those of its first opening and last end ("" if open).

    `reason` is why it was not done, in words as made out, kept in entry `reason_entry` (0: it was not left). `lacking`: what
    photographs were wanted of, and not taken. `ended_entry` and `doubted_entry` say the end, and the doubt (0: none).
    """

    id: str
    title: str
    status: str
    reason: str
    reason_entry: int
    opened: str
    ended: str
    cautions: tuple[str, ...]
    affirmed: tuple[str, ...]
    doubted: tuple[str, ...]
    counted_s: tuple[int, ...]
    values: tuple[Value, ...]
    parts: tuple[Part, ...]
    remarks: tuple[Remark, ...]
    photographs: tuple[Photograph, ...]
    lacking: tuple[str, ...]
    unclear: int
    ended_entry: int = 0
    doubted_entry: int = 0


@dataclass(frozen=True)
class DeviceChange:
    """A device was lost or came back."""

    sequence: int
    time: str
    device: str
    state: str
    why: str


@dataclass(frozen=True)
class ClockStep:
    """The bay's clock went back before this entry, by so many seconds."""

    sequence: int
    time: str
    back_s: str


@dataclass(frozen=True)
class Afterwards:
    """What was done to the job when the work was over: signed, or its sound forgotten. `verify` says if signatures fit."""

    sequence: int
    time: str
    what: str


@dataclass(frozen=True)
class Decision:
    """What the customer said of a finding: approved, declined or later; who gave the answer, when, and who wrote it down."""

    sequence: int
    time: str
    decision: str
    words: str
    by: str
    on: str
    who: str


@dataclass(frozen=True)
class AskedBack:
    """A question of the foreman to the technician, and its answer: `answered` is the answer's entry, 0 while there is none."""

    sequence: int
    time: str
    about: int
    text: str
    who: str
    answered: int = 0
    answer: str = ""
    answer_clip: str = ""
    answer_who: str = ""


@dataclass(frozen=True)
class Upheld:
    """The foreman looked at an entry and let it stand; `why` may be ""."""

    sequence: int
    time: str
    why: str
    who: str
