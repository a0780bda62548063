"""What a report is made of: a step with its values, parts and remarks; what happened to devices and to the clock."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.reports.values import Value


@dataclass(frozen=True)
class Part:
    """A label that was read. `kept`: it was taken for this job."""

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


@dataclass(frozen=True)
class Remark:
    """A note or a finding, as sound and, unchecked, as words."""

    sequence: int
    time: str
    step: str
    about: str
    words: str
    clip: str


@dataclass(frozen=True)
class StepReport:
    """One step: `status` is done, unable or open; times are those of its first opening and last end ("" if open).

    `reason` is why it was not done, in words as made out, kept in entry `reason_entry` (0: it was not left).
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
    unclear: int


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
