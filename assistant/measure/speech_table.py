"""The scores as one table for people, in Markdown, which also reads as plain text."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from assistant.measure.reliability import Bin, bins, expected_calibration_error
from assistant.measure.speech_scores import Score, scores, wilson
from assistant.measure.speech_trials import Trial
from assistant.measure.speech_voices import by_voice
from assistant.measure.speech_words import WordCount, word_counts

HEAD = (
    "set", "sound", "ear", "of", "heard whole (95 %)", "word error", "right first time (95 %)", "kept", "asked", "refused",
    "kept wrong", "turns", "median",
)  # fmt: skip
TALK_HEAD = ("talk", "ear", "of", "kept as a reading (95 %)", "asked about", "taken as a command", "refused")
SPEAKER_HEAD = ("set", "speaker", "of", "heard whole", "right first time", "asked", "refused", "kept wrong")
MOST_OTHERS = 3
PUT_IN = "(put in)"
LEFT_OUT = "(left out)"
BIN_HEAD = ("share claimed", "ear", "of", "claimed", "right", "right of 100 (95 %)")


def report(heard: Sequence[Trial]) -> Iterator[str]:
    """All tables, line by line."""
    levels = tuple(scores_by_level(heard))
    yield from section("What was said", HEAD, (_row(level, score) for level, score in levels))
    talk = (score for one in _sets(heard, talk=True) for score in scores(one[0].of.name, one))
    yield from section("Talk that must be refused", TALK_HEAD, map(_talk_row, talk))
    yield from _voices(heard)
    yield from _words(heard)
    yield from section("By speaker, all sounds, the last ear of the table above", SPEAKER_HEAD, _speaker_rows(heard))
    yield from _reliability(heard)


def scores_by_level(heard: Sequence[Trial]) -> Iterator[tuple[str, Score]]:
    """The scores of what was said, with how loud: the noises of one ratio together, as each has been heard in each."""
    for one in _sets(heard, talk=False):
        for level in dict.fromkeys(t.condition.level for t in one):
            at = [t for t in one if t.condition.level == level]
            noises = {str(t.condition) for t in at}
            for score in scores(one[0].of.name, at):
                yield level if len(noises) > 1 else noises.copy().pop(), score


def reliability(heard: Sequence[Trial]) -> dict[str, tuple[Bin, ...]]:
    """For each ear, what its best claims against what is right, over all that was said in all sounds."""
    claims: dict[str, list[tuple[float, bool]]] = {}
    for trial in heard:
        for o in trial.outcomes if not trial.of.talk else ():
            if o.share is not None:
                claims.setdefault(o.ear, []).append((min(1.0, o.share), o.right))
    return {ear: bins(rows) for ear, rows in claims.items()}


def _sets(heard: Sequence[Trial], *, talk: bool) -> Iterator[list[Trial]]:
    for name in dict.fromkeys(t.of.name for t in heard if t.of.talk == talk):
        yield [t for t in heard if t.of.name == name]


def _row(level: str, s: Score) -> tuple[str, ...]:
    return (
        s.name, level, s.ear, str(s.utterances), _share(s.whole, s.utterances), f"{s.word_errors / s.words:.1%}",
        _share(s.right_first, s.utterances), str(s.kept), str(s.asked), str(s.refused), str(s.kept_wrong), f"{s.turns:.2f}",
        f"{1000 * s.median_s:.0f} ms",
    )  # fmt: skip


def _talk_row(s: Score) -> tuple[str, ...]:
    asked = sum(o.kind == "asked" for o in s.outcomes)
    return (
        s.name, s.ear, str(s.utterances), _share(s.kept_wrong, s.utterances), str(asked), str(s.commands), str(s.refused)
    )  # fmt: skip


def _speaker_rows(heard: Sequence[Trial]) -> Iterator[tuple[str, ...]]:
    for one in _sets(heard, talk=False):
        for speaker in sorted({t.recording.speaker for t in one} - {""}):
            *_, s = scores(speaker, [t for t in one if t.recording.speaker == speaker])
            counts = (s.utterances, s.whole, s.right_first, s.asked, s.refused, s.kept_wrong)
            yield one[0].of.name, speaker, *map(str, counts)


def _voices(heard: Sequence[Trial]) -> Iterator[str]:
    """Heard whole, and right first time: a row a set, kind of voice, noise and ear, a column a ratio."""
    found = by_voice([t for t in heard if not t.of.talk])
    levels = list(dict.fromkeys(level for row in found.values() for level in row))
    head = ("set", "voices", "noise", "ear", *levels)
    whole = ((*of, *(_of_all(row.get(at), lambda s: s.whole) for at in levels)) for of, row in found.items())
    yield from section("Heard whole, by kind of voice and noise", head, whole)
    first = ((*of, *(_of_all(row.get(at), lambda s: s.right_first) for at in levels)) for of, row in found.items())
    yield from section("Right first time, by kind of voice and noise", head, first)


def _of_all(score: Score | None, count: Callable[[Score], int]) -> str:
    return "" if score is None else f"{count(score) / score.utterances:.1%}"


def _words(heard: Sequence[Trial]) -> Iterator[str]:
    """A row a word: how often said, the share that each ear heard right, and what the last ear took it for."""
    found = word_counts(heard)
    if not found:
        return
    *_, last = found
    head = ("word", "said", *(f"right, {ear}" for ear in found), f"mostly heard as, {last}")
    words = sorted((w for w in found[last] if w), key=lambda w: (found[last][w].right_share, -found[last][w].said))
    rows = [(w, str(found[last][w].said), *(_right_of(found[ear][w]) for ear in found)) for w in words]
    if any("" in each for each in found.values()):
        words.append("")
        rows.append((PUT_IN, "", *(str(found[ear][""].said) if "" in found[ear] else "0" for ear in found)))
    yield from section(
        "By word, all sounds, least often right first",
        head,
        ((*row, _others(found[last].get(w))) for w, row in zip(words, rows, strict=True)),
    )


def _right_of(count: WordCount) -> str:
    return f"{count.right_share:.1%}"


def _others(count: WordCount | None) -> str:
    return ", ".join(f"{other or LEFT_OUT} {times}" for other, times in count.others(MOST_OTHERS)) if count else ""


def _reliability(heard: Sequence[Trial]) -> Iterator[str]:
    found = reliability(heard)
    rows = ((ear, b) for ear, each in found.items() for b in each)
    yield from section("Reliability: the share claimed, and the share right", BIN_HEAD, (_bin_row(*r) for r in rows))
    for ear, each in found.items():
        yield f"Expected calibration error, {ear}: {expected_calibration_error(each):.3f}"


def _bin_row(ear: str, b: Bin) -> tuple[str, ...]:
    span = f"{b.low:.1f} to {b.low + 0.1:.1f}"
    return span, ear, str(b.of), f"{b.claimed:.2f}", f"{b.right_share:.2f}", _share(b.right, b.of)


def _share(count: int, of: int) -> str:
    low, high = wilson(count, of)
    return f"{count / of:.1%} ({100 * low:.1f} to {100 * high:.1f})"


def section(title: str, head: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """A titled table with its columns in line; nothing without rows."""
    table = [tuple(head), *map(tuple, rows)]
    if len(table) == 1:
        return
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    yield from ("", f"## {title}", "")
    for n, row in enumerate(table):
        yield f"| {' | '.join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))} |"
        if n == 0:
            yield f"|{'|'.join('-' * (width + 2) for width in widths)}|"
