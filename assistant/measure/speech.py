"""`layup measure speech`: how many recordings of a folder are heard whole, by each ear and where both agree.

With `--grammar numbers` an utterance is one to ten number words and must be heard word for word. With a step of a
procedure it must mean what its words mean, and the program's own rule decides: kept, asked, or unclear.
Intervals are Wilson's, 95 % (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927).
"""

from __future__ import annotations

import json
import math
import statistics
import time
from argparse import Namespace
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from assistant.bench.equipment import chosen_ears, load_ears
from assistant.bench.hearing import Ears
from assistant.bench.listening import state_at
from assistant.bench.starting import read_work
from assistant.core.engine import expectation_of, hear
from assistant.core.events import Heard, Take
from assistant.core.problems import CallProblem
from assistant.core.speech.automaton import Automaton, compile_grammar, repeat, words
from assistant.core.speech.numbers import DIGITS, TEENS, TENS
from assistant.core.speech.step_grammar import grammar_of
from assistant.core.speech.understanding import take_of_words
from assistant.core.state import State
from assistant.devices.protocols import RATE_HZ, Utterance
from assistant.devices.sound_file import read_sound
from assistant.measure.recordings import Recording, read_manifest
from assistant.settings import Settings

Line = Callable[[str], None]


ORDINARY = {"niner": "nine", "fife": "five", "fower": "four", "tree": "three"}
"""Pronunciations (ICAO Annex 10 volume II, 5.2.1.4) that an ear may write for the same figure, as manifests write it."""


@dataclass(frozen=True)
class Row:
    """One recording heard: what each ear's best was, seconds each took, what was made of it."""

    recording: Recording
    best: dict[str, str]
    seconds: dict[str, float]
    outcome: str


def wilson(right: int, of: int) -> tuple[float, float]:
    """The 95 % interval of a share."""
    if not of:
        return 0.0, 1.0
    z, p = 1.959964, right / of
    middle = (p + z * z / (2 * of)) / (1 + z * z / of)
    half = z * math.sqrt(p * (1 - p) / of + z * z / (4 * of * of)) / (1 + z * z / of)
    return max(0.0, middle - half), min(1.0, middle + half)


def number_loop() -> Automaton:
    """One to ten number words in any order."""
    table = {w: ("word", w) for w in (*DIGITS, *TEENS, *TENS, "hundred", "thousand", "point")}
    return compile_grammar(repeat(words(table), 1, 10))


def measure_speech(args: Namespace, settings: Settings, models: Path, line: Line) -> int:
    """The command: hear every recording that the grammar allows, print a table (or a JSON object a line)."""
    if args.folder is None:
        raise CallProblem("which recordings?", where="--folder", do="give a folder with a manifest.csv (path,words)")
    chosen = chosen_ears(settings, models)
    ears = load_ears(chosen)
    state = None if args.grammar == "numbers" else _state(args)
    grammar = number_loop() if state is None else grammar_of(expectation_of(state))
    allowed = [r for r in read_manifest(args.folder) if grammar.accepts(r.words.split())]
    recordings = allowed[: args.most or None]
    if not recordings:
        raise CallProblem(
            "no recording says what this grammar allows", where=str(args.folder), do="choose another --grammar"
        )
    rows = []
    for recording in recordings:
        row = hear_one(ears, grammar, state, recording)
        rows.append(row)
        if args.json:
            line(
                json.dumps(
                    {"path": str(recording.path), "words": recording.words, "heard": row.best, "outcome": row.outcome}
                )
            )
    if not args.json:
        for text in summary(rows, ears):
            line(text)
    return 0


def _state(args: Namespace) -> State:
    if args.procedure is None or args.machine is None:
        raise CallProblem("whose step?", where="--grammar", do="give --procedure and --machine with a step's name")
    return state_at(read_work(args.procedure, args.machine, args.site), args.grammar, date.today())


def hear_one(ears: Ears, grammar: Automaton, state: State | None, recording: Recording) -> Row:
    """One recording through all ears, the whole file as one utterance."""
    sound = read_sound(recording.path)
    utterance = Utterance(sound, 0.0, len(sound) / RATE_HZ)
    best: dict[str, str] = {}
    seconds: dict[str, float] = {}
    takes: list[Take] = []
    for ear in filter(None, (ears.streaming, ears.weighing)):
        ear.listen_for(grammar)
        began = time.perf_counter()
        takes.append(ear.hear(utterance))
        seconds[ear.name] = time.perf_counter() - began
        best[ear.name] = _best_words(takes[-1])
    return Row(recording, best, seconds, _outcome(state, recording, tuple(takes), best))


def _best_words(take: Take) -> str:
    return " ".join(ORDINARY.get(w, w) for w in take.candidates[0].words) if take.candidates else ""


def _outcome(state: State | None, recording: Recording, takes: tuple[Take, ...], best: dict[str, str]) -> str:
    if state is None:
        agreed = len(set(best.values())) == 1
        right = recording.words in best.values()
        return f"{'agree' if agreed else 'differ'}, {'right' if right else 'wrong'}"
    decision = hear(state, Heard(0.0, "", takes)).decision
    meant = hear(state, Heard(0.0, "", (take_of_words(recording.words),))).decision
    if decision.kind == "unclear":
        return "unclear"
    right = decision.best.meaning == meant.best.meaning
    return f"{'kept' if decision.ask == 'none' else 'asked'}, {'right' if right else 'wrong'}"


def summary(rows: list[Row], ears: Ears) -> Iterable[str]:
    """The table."""
    of = len(rows)
    yield f"{of} recordings, {len({r.recording.speaker for r in rows})} speakers; ears: {ears.names}"
    yield f"{'ear':<10}{'whole':>12}{'share':>8}   95 % interval    median s"
    for name in rows[0].best:
        right = sum(r.best[name] == r.recording.words for r in rows)
        low, high = wilson(right, of)
        middle = statistics.median(r.seconds[name] for r in rows)
        yield f"{name:<10}{right:>6} of {of:<4}{right / of:>6.1%}   {low:.1%} to {high:.1%}    {middle:.3f}"
    counts: dict[str, int] = {}
    for r in rows:
        counts[r.outcome] = counts.get(r.outcome, 0) + 1
    yield "outcome: " + "; ".join(f"{k} {n}" for k, n in sorted(counts.items()))
