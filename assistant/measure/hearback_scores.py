"""What kept sounds heard again add up to, for each ear: sets of them, and the tables that are printed.

Only what is known to have been said is a truth; agreement with what was kept and never questioned is told apart from it.
Words are compared after `ordinary` (niner is nine; "oh" and "zero" are two words).
"""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Literal

from assistant.core.truth import HowKnown
from assistant.core.word_errors import word_edits
from assistant.measure.hearback_clips import KeptSound
from assistant.measure.speech_moments import ordinary

KNOWN: tuple[HowKnown, ...] = ("amended", "affirmed", "denied")
"""How a truth is known."""
NOT_NAMED = "(not named)"
PAIRS_SHOWN = 12


@dataclass(frozen=True)
class Answer:
    """What one ear, or all together, made of a sound: its best words, what the program would do, and whether that is right.

    `right`: the best meaning gives the values that the set compares with. `seconds` from sound to meaning.
    """

    ear: str
    heard: str
    kind: Literal["kept", "asked", "refused"]
    right: bool
    seconds: float


@dataclass(frozen=True)
class HeardAgain:
    """One kept sound with the answer of each ear; `job` is the file it is from."""

    job: str
    sound: KeptSound
    answers: tuple[Answer, ...]

    @property
    def technician(self) -> str:
        """Who spoke."""
        return self.sound.truth.technician or NOT_NAMED

    def json(self) -> dict[str, object]:
        """The object of `--each`."""
        truth = self.sound.truth
        return {
            "job": self.job,
            "entries": list(truth.sequences),
            "clip": truth.clip,
            "technician": truth.technician,
            "step": truth.step,
            "how": truth.how,
            "said": [asdict(one) for one in truth.said],
            "words": self.sound.words,
            "ears": {a.ear: {k: v for k, v in asdict(a).items() if k != "ear"} for a in self.answers},
        }


@dataclass(frozen=True)
class Score:
    """One ear's answers over a set of sounds."""

    name: str
    ear: str
    heard: tuple[tuple[KeptSound, Answer], ...]

    @property
    def edits(self) -> Counter[tuple[str, str]]:
        """Which words were taken for which, how often."""
        return Counter(edit for sound, answer in self.heard for edit in _edits(sound, answer))

    @property
    def words(self) -> int:
        """Words said, where they are known."""
        return sum(len(sound.words.split()) for sound, _ in self.heard)

    @property
    def kept_right(self) -> int:
        """Would be kept unasked, and is right."""
        return sum(a.kind == "kept" and a.right for _, a in self.heard)

    @property
    def kept_wrong(self) -> int:
        """Would be kept unasked, and is not; where nothing is known, none is counted."""
        return sum(a.kind == "kept" and not a.right and bool(sound.truth.said) for sound, a in self.heard)

    def count(self, kind: str) -> int:
        """How many were kept, asked about or refused."""
        return sum(a.kind == kind for _, a in self.heard)

    def json(self) -> dict[str, object]:
        """The object of `--json`: the keys of `layup measure speech`, and the words that were taken for others."""
        return {
            "set": self.name,
            "ear": self.ear,
            "utterances": len(self.heard),
            "whole": sum(bool(sound.words) and not _edits(sound, a) for sound, a in self.heard),
            "word_errors": self.edits.total(),
            "words": self.words,
            "kept": self.count("kept"),
            "asked": self.count("asked"),
            "refused": self.count("refused"),
            "kept_wrong": self.kept_wrong,
            "median_s": round(statistics.median(a.seconds for _, a in self.heard), 4),
            "confusions": {f"{said} -> {heard}": n for (said, heard), n in self.edits.most_common()},
        }


def _edits(sound: KeptSound, answer: Answer) -> tuple[tuple[str, str], ...]:
    """None where the words are not known."""
    return word_edits(ordinary(sound.words), ordinary(answer.heard)) if sound.words else ()


def scores(name: str, heard: Sequence[HeardAgain]) -> tuple[Score, ...]:
    """The score of each ear over these sounds."""
    ears = list(dict.fromkeys(a.ear for one in heard for a in one.answers))
    return tuple(
        Score(name, ear, tuple((one.sound, a) for one in heard for a in one.answers if a.ear == ear)) for ear in ears
    )


def known_of(heard: Sequence[HeardAgain], *, with_corrections: bool) -> list[HeardAgain]:
    """The sounds whose truth counts."""
    counted = (*KNOWN, "corrected") if with_corrections else KNOWN
    return [one for one in heard if one.sound.truth.how in counted]


def sets_of(heard: Sequence[HeardAgain], *, with_corrections: bool) -> Iterator[tuple[Score, ...]]:
    """The known as a whole, by technician and by step; then what is only agreed with, and what was unclear."""
    known = known_of(heard, with_corrections=with_corrections)
    yield scores("known", known)
    yield from _by(known, "technician", lambda one: one.technician)
    yield from _by(known, "step", lambda one: one.sound.truth.step)
    yield scores("unconfirmed", [one for one in heard if one.sound.truth.how == "unconfirmed"])
    yield scores("unclear", [one for one in heard if one.sound.truth.how == "unknown"])


def _by(heard: Sequence[HeardAgain], what: str, key: Callable[[HeardAgain], str]) -> Iterator[tuple[Score, ...]]:
    for name in dict.fromkeys(map(key, heard)):
        yield scores(f"known, {what} {name}", [one for one in heard if key(one) == name])


def report(heard: Sequence[HeardAgain], *, with_corrections: bool) -> Iterator[str]:
    """The tables for a person."""
    how = Counter(one.sound.truth.how for one in heard)
    known = known_of(heard, with_corrections=with_corrections)
    yield f"{len(heard)} kept sounds: " + ", ".join(f"{n} {name}" for name, n in how.most_common())
    yield from _left_out(how["corrected"], with_corrections)
    yield ""
    yield "What was said is known (affirmed or denied when asked, or amended by the foreman as misheard):"
    yield from _table(scores("all", known))
    if known:
        yield from CAUTION
        yield from _breakdown("By technician", known, lambda one: one.technician)
        yield from _breakdown("By step", known, lambda one: one.sound.truth.step)
        yield from _by_word(scores("", known))
    yield ""
    yield "Kept unasked and never changed, so that nothing but a hearing vouches for it (right: as it was kept):"
    yield from _table(scores("all", [one for one in heard if one.sound.truth.how == "unconfirmed"]))
    unclear = [one for one in heard if one.sound.truth.how == "unknown"]
    if unclear:
        yield ""
        yield "Not understood then (kept: would be taken for something now):"
        yield from _table(scores("all", unclear))


def _left_out(corrected: int, with_corrections: bool) -> Iterator[str]:
    if corrected and with_corrections:
        yield f"{corrected} corrected by the technician are counted: some may be slips of the tongue, and heard rightly."
    elif corrected:
        yield f"{corrected} corrected by the technician left out: misheard or a slip of the tongue (--with-corrections)."


CAUTION = (
    "These are harder than most: they were doubtful, or wrong. A denied sound counts as what settled its question; one that",
    "nothing settled is left out. Where the kept words mean the value, they count as the words that were said.",
)
HEAD = (
    f"  {'':<24}{'ear':<10}{'sounds':>7}{'words':>7}{'errors':>7}{'share':>8}{'right':>7}{'WRONG':>7}{'asked':>7}"
    f"{'refused':>8}"
)
"""Right and WRONG: kept unasked. Share: word errors of the words said."""


def _table(found: Sequence[Score]) -> Iterator[str]:
    if not found:
        yield "  none"
        return
    yield HEAD
    yield from map(_row, found)


def _row(score: Score) -> str:
    errors = score.edits.total()
    share = f"{errors / score.words:.1%}" if score.words else "-"
    return (
        f"  {score.name[:23]:<24}{score.ear:<10}{len(score.heard):>7}{score.words:>7}{errors:>7}{share:>8}"
        f"{score.kept_right:>7}{score.kept_wrong:>7}{score.count('asked'):>7}{score.count('refused'):>8}"
    )


def _breakdown(title: str, heard: Sequence[HeardAgain], key: Callable[[HeardAgain], str]) -> Iterator[str]:
    yield ""
    yield f"{title}:"
    yield HEAD
    for name in dict.fromkeys(map(key, heard)):
        yield from map(_row, scores(name, [one for one in heard if key(one) == name]))


def _by_word(found: Sequence[Score]) -> Iterator[str]:
    yield ""
    yield "By word (said -> heard, how often):"
    for score in found:
        pairs = ", ".join(f"{said} -> {heard} {n}" for (said, heard), n in score.edits.most_common(PAIRS_SHOWN))
        yield f"  {score.ear:<10}{pairs or 'none'}"
