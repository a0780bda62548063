"""Counts of what was read and what was wrong, and the tables and the claims that are made of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from assistant.measure.label_readings import CAMERA, OURS, PYZBAR, ZXING, Reading
from assistant.measure.speech_table import section

PLAIN = (PYZBAR, ZXING)
FRAMES_A_SECOND = 15


@dataclass(frozen=True)
class Trial:
    """One picture, and what all decoders made of it. wanted: what is there; linear, checked: None where nobody says what kind
    of symbol it is; named: the symbologies by ours, where that is so and ours alone reads it."""

    symbology: str
    damage: str
    wanted: frozenset[str]
    linear: bool | None
    checked: bool | None
    readings: tuple[Reading, ...]
    named: tuple[str, ...] = ()

    def read_by(self, *decoders: str) -> bool:
        """Whether one of them read it."""
        return any(r.read(self.wanted) for r in self.readings if r.decoder in decoders)

    def wrong_by(self, decoder: str) -> bool:
        """Whether it found something that is not there."""
        return any(r.wrong(self.wanted) for r in self.readings if r.decoder == decoder)


@dataclass(frozen=True)
class Score:
    """One decoder over pictures. median_ms: of a picture, or a camera's frame."""

    decoder: str
    pictures: int
    read: int
    wrong: int
    median_ms: float

    def as_json(self) -> dict[str, object]:
        """The object that `layup measure labels --json` prints."""
        return {
            "decoder": self.decoder,
            "pictures": self.pictures,
            "read": self.read,
            "wrong": self.wrong,
            "median_ms": round(self.median_ms, 1),
        }


def scores(trials: Sequence[Trial]) -> Iterator[Score]:
    """One a decoder, in the order in which they looked."""
    for name in dict.fromkeys(r.decoder for t in trials for r in t.readings):
        of = [t for t in trials if any(r.decoder == name for r in t.readings)]
        ms = [r.ms for t in of for r in t.readings if r.decoder == name]
        yield Score(name, len(of), sum(t.read_by(name) for t in of), sum(t.wrong_by(name) for t in of), median(ms))


def report(trials: Sequence[Trial]) -> Iterator[str]:
    """All tables, line by line."""
    there = [t for t in trials if t.wanted]
    yield from section("All pictures", ("decoder", "pictures", "read", "wrong", "median ms"), map(_row, scores(trials)))
    yield ""
    yield from claims(trials)
    yield from _by("By damage", "damage", there, lambda t: t.damage)
    yield from _by("By symbology", "symbology", there, lambda t: t.symbology)
    yield from _by("Each cell", "symbology, damage", there, lambda t: f"{t.symbology}, {t.damage}")


def _row(score: Score) -> tuple[str, ...]:
    return score.decoder, str(score.pictures), str(score.read), str(score.wrong), f"{score.median_ms:.0f}"


def claims(trials: Sequence[Trial]) -> Iterator[str]:
    """What is promised of ours, each with its figures."""
    there = [t for t in trials if t.wanted]
    cells: dict[tuple[str, str], list[Trial]] = {}
    for t in there:
        cells.setdefault((t.symbology, t.damage), []).append(t)
    worse = [f"{s}, {d}" for (s, d), of in cells.items() if _read(of, OURS) < max(_read(of, PYZBAR), _read(of, ZXING))]
    missed = {name: len(there) - _read(there, name) for name in (*PLAIN, OURS)}
    fewest = min(missed[name] for name in PLAIN)
    named = f" ({'; '.join(worse)})" if worse else ""
    yield f"- cells in which ours reads less than the better of the two: {len(worse)} of {len(cells)}{named}"
    yield f"- missed: {', '.join(f'{name} {n}' for name, n in missed.items())}" + _fewer(missed[OURS], fewest)
    either = [t for t in there if t.read_by(*PLAIN)]
    if either:
        yield f"- of {len(either)} that one of the two reads, ours reads {_read(either, OURS)}"
    yield _both_miss([t for t in there if not t.read_by(*PLAIN)])
    known = all(t.checked is not None for t in trials)
    checked = [t for t in trials if t.checked or not known]
    wrong = ", ".join(f"{name} {sum(t.wrong_by(name) for t in checked)}" for name in (*PLAIN, OURS, CAMERA))
    yield f"- wrong, of {len(checked)} pictures{' of checked symbologies or of no label' if known else ''}: {wrong}"
    frames = [r.ms for t in trials for r in t.readings if r.decoder == CAMERA]
    if frames:
        slow = sorted(frames)[9 * len(frames) // 10]
        yield (
            f"- camera: {1000 / median(frames):.0f} frames a second on one core ({FRAMES_A_SECOND} are asked for), "
            f"{1000 / slow:.0f} or fewer in the tenth of the looks that are hardest"
        )


def _both_miss(missed: Sequence[Trial]) -> str:
    """Of the linear ones where it is known which are; else of all, by what ours names them."""
    if all(t.linear is not None for t in missed):
        linear = [t for t in missed if t.linear]
        return f"- of {len(linear)} linear codes that both miss, ours reads {_read(linear, OURS)}"
    read = Counter(" and ".join(t.named) for t in missed if t.read_by(OURS))
    kinds = ", ".join(f"{n} {name}" for name, n in sorted(read.items()))
    rest = len(missed) - read.total()
    unread = f"; of what kind those in the other {rest} are, no decoder says" if rest else ""
    return (
        f"- of {len(missed)} pictures that both miss, ours reads {read.total()}{f' ({kinds})' if kinds else ''}{unread}"
    )


def _fewer(ours: int, fewest: int) -> str:
    return f" ({1 - ours / fewest:.0%} fewer than the better of the two)" if fewest else ""


def _read(trials: Sequence[Trial], name: str) -> int:
    return sum(t.read_by(name) for t in trials)


def _by(title: str, head: str, trials: Sequence[Trial], key: Callable[[Trial], str]) -> Iterator[str]:
    decoders = [s.decoder for s in scores(trials)]
    groups = {name: [t for t in trials if key(t) == name] for name in dict.fromkeys(map(key, trials))}
    rows = ((name, str(len(of)), *(_cell(of, decoder) for decoder in decoders)) for name, of in groups.items())
    yield from section(f"{title}: read (of how many, where not of all; wrong)", (head, "pictures", *decoders), rows)


def _cell(trials: Sequence[Trial], name: str) -> str:
    score = next((s for s in scores(trials) if s.decoder == name), None)
    if score is None:
        return ""
    of = f" of {score.pictures}" if score.pictures != len(trials) else ""
    return f"{score.read}{of}" + (f"; {score.wrong} wrong" if score.wrong else "")
