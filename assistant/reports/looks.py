"""What the foreman should look at first, worst first: the one wrong value must not hide among two hundred good ones."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from assistant.core.speech.wording import VERDICTS
from assistant.reports.sections import ClockStep, DeviceChange, Part, StepReport
from assistant.reports.values import Correction, Value, spaced, visible

ORDER = (
    "out of limits",
    "unsure",
    "part to check",
    "finding",
    "not done",
    "in doubt",
    "corrected",
    "judged again",
    "doubtful",
    "no part",
    "no photograph",
    "not finished",
    "clock",
    "device",
)
"""The kinds of look, worst first."""


@dataclass(frozen=True)
class Look:
    """One thing to look at: its kind (of ORDER), the step, what it is in a sentence, and its entry and clip.

    `doubt` (0 to 1) is how likely a value is another, by the asking rule's own figure.
    """

    kind: str
    step: str
    what: str
    sequence: int = 0
    clip: str = ""
    doubt: Decimal = Decimal(0)


def looks_of(
    steps: Sequence[StepReport],
    corrections: Sequence[Correction],
    devices: Sequence[DeviceChange],
    clock: Sequence[ClockStep],
    clips: Mapping[int, str],
    *,
    finished: bool,
) -> tuple[Look, ...]:
    """All of them, worst kind first, most doubtful first among the doubtful, then in order. `clips`: of the entries."""
    looks = [look for step in steps for look in _of_step(step, clips)]
    titles = {step.id: step.title for step in steps}
    looks += [_turned(c, titles.get(c.step, c.step), clips.get(c.old.by, "")) for c in corrections if c.turned]
    if not finished:
        where = next((step.title for step in reversed(steps) if step.status == "open"), "")
        looks.append(Look("not finished", where, "the job was not brought to its end"))
    looks += [Look("clock", "", f"the bay's clock was set back by {c.back_s} s", c.sequence) for c in clock]
    looks += [Look("device", "", f"{d.device} {d.state} {d.why}".strip(), d.sequence) for d in devices]
    return tuple(sorted(looks, key=lambda look: (ORDER.index(look.kind), -look.doubt)))


def named(value: Value) -> str:
    """ "compression, cylinder 2"."""
    return ", ".join(filter(None, (spaced(value.name), value.place)))


def told(verdict: str) -> str:
    """A verdict in print: its word, or for those that are no plain word what the assistant says."""
    return VERDICTS[verdict] if verdict in ("outside", "unsure") else verdict or "no limit"


def _of_step(step: StepReport, clips: Mapping[int, str]) -> Iterator[Look]:
    yield from (_of_value(step, v, "out of limits") for v in step.values if v.out_of_limits)
    yield from (_of_value(step, v, "unsure") for v in step.values if v.verdict == "unsure")
    for v in (one for one in step.values if one.doubtful):
        what = f"{named(v)}: {v.written}{_why_doubtful(v)}"
        yield Look("doubtful", step.title, what, v.sequence, v.clip, v.doubt)
    yield from _of_parts(step)
    for remark in step.remarks:
        if remark.about == "finding":
            heard = f"\u201c{remark.words}\u201d" if remark.words else "listen to it"
            said = remark.words if remark.written else heard
            yield Look("finding", step.title, said, remark.sequence, remark.clip)
    for of in step.lacking:
        yield Look("no photograph", step.title, f"wanted of {of}, and done without", step.ended_entry)
    if step.status == "unable":
        why = f"\u201c{step.reason}\u201d" if step.reason else "no reason in words: listen to it"
        yield Look("not done", step.title, why, step.reason_entry, clips.get(step.reason_entry, ""))
    if step.doubted:
        what = f"the state of the machine: {spaced(', '.join(step.doubted))}"
        yield Look("in doubt", step.title, what, step.doubted_entry)


def _of_value(step: StepReport, v: Value, kind: str) -> Look:
    limit = f"; limit: {spaced(v.limit)}" if v.limit else ""
    return Look(kind, step.title, f"{named(v)}: {v.written}, {told(v.verdict)}{limit}", v.sequence, v.clip)


def _why_doubtful(v: Value) -> str:
    """The asking rule's reason, and the likeliest other meaning."""
    rule = f": {v.rule}" if v.rule and v.asked else ""
    return f", heard as \u201c{v.words}\u201d{rule}{_may_have_been(v)}{f'; kept after asking: {v.asked}' if v.asked else ''}"


def _may_have_been(v: Value) -> str:
    if not v.rivals:
        return ""
    rival = v.rivals[0]
    return f"; may have been \u201c{rival.words}\u201d{f' ({rival.means})' if rival.means else ''}"


def _of_parts(step: StepReport) -> Iterator[Look]:
    """A part taken that was not right; a part offered that never was followed by one taken."""
    taken = {part.role for part in step.parts if part.kept}
    for part in step.parts:
        if part.kept and part.answer != "right":
            yield _of_part(step, part, "part to check", "taken")
        if not part.kept and part.role not in taken:
            yield _of_part(step, part, "no part", "refused, and no other was taken")


def _of_part(step: StepReport, part: Part, kind: str, then: str) -> Look:
    what = ", ".join(filter(None, (spaced(part.role), part.pieces)))
    return Look(kind, step.title, f"{what}: {part.answer} ({ident(part)}), {then}", part.sequence, part.clip)


def ident(part: Part) -> str:
    """What a label is known by."""
    known: Iterable[tuple[str, str]] = (("GTIN", part.gtin), ("number", part.number), ("lot", part.lot))
    return ", ".join(f"{name} {text}" for name, text in known if text) or visible(part.text)


def _turned(c: Correction, title: str, clip: str) -> Look:
    """A verdict that is another now: of another value, or of the same one, which another value changed."""
    name = ", ".join(filter(None, (spaced(c.name), c.place)))
    verdicts = f"{told(c.old.verdict)} became {told(c.new_verdict)}"
    if c.old.written == c.new and c.old.place == c.place:
        return Look("judged again", title, f"{name}: {c.new}; {verdicts}", c.old.by, clip)
    return Look("corrected", title, f"{name}: {c.old.written} became {c.new}; {verdicts}", c.old.by, clip)
