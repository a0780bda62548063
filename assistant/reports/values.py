"""Which value of a reading counts, and what stood there before.

The current value of a reading (its step, name and place) is the last entry for it that no later entry replaces. An
entry is replaced by the one that names it, or else by the next one for the same reading. Nothing that was replaced is
left out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from assistant.core.entries import Amended, HeardAs, Kept, ReadingKept, Rival
from assistant.core.units import WRITTEN

OUT_OF_LIMITS = ("low", "high", "outside")
DOUBT_SHOWN = Decimal("0.05")
"""A value of a job from before the record had the asking rule's own figures is doubtful where one ear thought another meaning
at least so likely (common practice, no source). In later jobs a value is doubtful where the rule asked about it."""
LONG_TAIL = re.compile(r"(?<=\.\d{3})\d{3,}$")
"""What nobody says: decimals beyond the third of a converted value. The tables and the job file keep them."""


@dataclass(frozen=True)
class Earlier:
    """A value that was replaced: by which entry, and why. `place` is where it was kept."""

    sequence: int
    time: str
    place: str
    value: str
    unit: str
    written: str
    words: str
    verdict: str
    by: int
    why: str
    clip: str


@dataclass(frozen=True)
class Value:
    """A value as it counts. `written` is value and unit in print; `said` the same as spoken, "" if in no other unit.

    `others` are the other words that an ear thought of, likeliest first; `rivals` what else may have been meant, as the asking
    rule weighed it; `sureness` and `rule` its probability and its reason ("" in jobs from before these were kept); `earlier`
    what stood there before, oldest first; `amended` who put it there afterwards and why, "" where it was heard.
    """

    sequence: int
    time: str
    step: str
    name: str
    place: str
    value: str
    unit: str
    written: str
    said: str
    verdict: str
    limit: str
    words: str
    others: tuple[HeardAs, ...]
    rivals: tuple[Rival, ...]
    asked: str
    clip: str
    earlier: tuple[Earlier, ...]
    amended: str = ""
    sureness: str = ""
    rule: str = ""

    @property
    def out_of_limits(self) -> bool:
        """The value broke a limit."""
        return self.verdict in OUT_OF_LIMITS

    @property
    def doubt(self) -> Decimal:
        """How likely anything else was, 0 to 1: what the rule's sureness leaves; before that was kept, the likeliest rival."""
        if self.sureness:
            return 1 - (_share(self.sureness) or Decimal(0))
        return max((share_of(other) for other in self.rivals), default=Decimal(0))

    @property
    def doubtful(self) -> bool:
        """It was asked about before it was kept; or would have been, as far as an older record tells."""
        return bool(self.asked) or (not self.rule and self.doubt >= DOUBT_SHOWN)


@dataclass(frozen=True)
class Correction:
    """One value that took the place of another. `turned` says that the verdict is another now."""

    step: str
    name: str
    place: str
    old: Earlier
    new: str
    new_words: str
    new_verdict: str
    time: str
    turned: bool


MeansElse = Callable[[ReadingKept, str], bool]
"""Would these words have meant another thing than what was kept?"""


class ReadingHistory:
    """All readings of a job, and what took the place of which. Worked out once, for the values and the corrections."""

    def __init__(self, entries: Iterable[Kept]) -> None:
        self._readings = {kept.sequence: (kept, kept.entry) for kept in entries if isinstance(kept.entry, ReadingKept)}
        self._by: dict[int, int] = {}
        self._last: dict[tuple[str, str, str], int] = {}
        for sequence, (_, r) in self._readings.items():
            key = r.step, r.name, r.at
            if r.replaces in self._readings and r.replaces < sequence:  # one may only replace what came before it
                self._by.setdefault(r.replaces, sequence)
            if key in self._last:
                self._by.setdefault(self._last[key], sequence)
            self._last[key] = sequence
        self._earlier = {
            old: _earlier(*self._readings[old], self._readings[new][1], new) for old, new in self._by.items()
        }

    def values(self, means_else: MeansElse = lambda _reading, _words: True) -> tuple[Value, ...]:
        """The current values, in the order in which each reading was first kept."""
        before: dict[int, list[int]] = {}
        for old, new in self._by.items():
            before.setdefault(new, []).append(old)
        return tuple(
            _value(*self._readings[last], self._led_to(last, before), means_else)
            for last in self._last.values()
            if last not in self._by
        )

    def corrections(self) -> tuple[Correction, ...]:
        """Every value that was replaced, in order."""
        found = [_correction(old, *self._readings[old.by], self._written(old.by)) for old in self._earlier.values()]
        return tuple(sorted(found, key=lambda c: (c.old.by, c.old.sequence)))

    def _written(self, sequence: int) -> str:
        earlier = self._earlier.get(sequence)
        _, r = self._readings[sequence]
        return earlier.written if earlier else written(r.value, r.unit)

    def _led_to(self, current: int, before: Mapping[int, list[int]]) -> tuple[Earlier, ...]:
        """What led to this value, however many corrections ago. `before`: which entries each took the place of."""
        found: list[int] = []
        waiting = [current]
        while waiting:
            olds = before.get(waiting.pop(), ())
            found += olds
            waiting += olds
        return tuple(self._earlier[old] for old in sorted(found))


def written(value: str, unit: str) -> str:
    """A value with its unit in print; the words of a choice as they are, the tail of a conversion cut at three decimals.

    >>> written("12.60", "V"), written("89", "lbf_in"), written("light tan", "count")
    ('12.60 V', '89 lbf\u00b7in', 'light tan')
    >>> written("3.4342366806559293999", "us_gal")
    '3.434 US gal'
    """
    short = LONG_TAIL.sub("", value) if "." in value else value
    return f"{short} {WRITTEN.get(unit, unit)}".strip()


def spaced(name: str) -> str:
    """A name of a procedure or sheet as it is printed.

    >>> spaced("same as cover_screws_off (counted off)")
    'same as cover screws off (counted off)'
    """
    return re.sub(r"(?<=\w)_(?=\w)", " ", name)


def visible(text: str) -> str:
    """A label's text with its control characters (GS between GS1 fields) as their Unicode pictures.

    >>> visible("10F2604\\x1d21000731")
    '10F2604\u241d21000731'
    """
    return re.sub(r"[\x00-\x1f]", lambda found: chr(0x2400 + ord(found[0])), text)


def share_of(other: HeardAs | Rival) -> Decimal:
    """The share as a number; 1 where the file has none, so that it is looked at."""
    share = _share(other.share)
    return Decimal(1) if share is None else share


def _share(text: str) -> Decimal | None:
    """None for what is no number from 0 to 1."""
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() and 0 <= number <= 1 else None


def told_reading(kept: Kept) -> str:
    """A reading's entry in a line: "entry 7: compression, cylinder 2 = 188 psi [within], replaces entry 5"."""
    r = kept.entry
    assert isinstance(r, ReadingKept)
    name = ", ".join(filter(None, (spaced(r.name), r.at)))
    replaces = f", replaces entry {r.replaces}" if r.replaces else ""
    return f"entry {kept.sequence}: {name} = {written(r.value, r.unit)} [{r.verdict or 'no limit'}]{replaces}"


def amended_by(r: ReadingKept) -> str:
    """ "amended by NAME: misheard" for the foreman's amendment, else ""."""
    return f"amended by {r.who}: {r.reason}" if isinstance(r, Amended) else ""


def _earlier(kept: Kept, old: ReadingKept, new: ReadingKept, by: int) -> Earlier:
    why = amended_by(new) or new.why or "said again"
    text = written(old.value, old.unit)
    return Earlier(
        kept.sequence, kept.at, old.at, old.value, old.unit, text, old.words, old.verdict, by, why, kept.clip
    )


def _correction(old: Earlier, kept: Kept, r: ReadingKept, new: str) -> Correction:
    turned = old.verdict != r.verdict
    return Correction(r.step, r.name, r.at, old, new, r.words, r.verdict, kept.at, turned)


def _value(kept: Kept, r: ReadingKept, earlier: tuple[Earlier, ...], means_else: MeansElse) -> Value:
    others = sorted((w for w in r.weighed if w.words != r.words), key=share_of, reverse=True)
    return Value(
        sequence=kept.sequence,
        time=kept.at,
        step=r.step,
        name=r.name,
        place=r.at,
        value=r.value,
        unit=r.unit,
        written=written(r.value, r.unit),
        said=written(r.said_value, r.said_unit) if r.said_unit not in ("", r.unit) else "",
        verdict=r.verdict,
        limit=r.limit,
        words=r.words,
        others=tuple(others),
        rivals=r.rivals if r.rule else tuple(Rival(w.words, "", w.share) for w in others if means_else(r, w.words)),
        asked=r.asked,
        clip=kept.clip,
        earlier=earlier,
        amended=amended_by(r),
        sureness=r.sureness,
        rule=r.rule,
    )
