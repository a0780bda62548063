"""`layup hearback`: hear the kept sounds of jobs again, and compare with what is known to have been said.

Each sound is heard in the grammar of its own moment by each ear and judged by the program's own rule, for each ear as if it
were alone, and for all together. So a shop can measure its own ears, or another model, on its own people and noise.
"""

from __future__ import annotations

import json
import sys
import time
from argparse import Namespace
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from assistant.bench.equipment import chosen_ears, load_ears
from assistant.bench.hearing import Ears
from assistant.core.engine import hear
from assistant.core.events import Heard, Take
from assistant.core.expected import expectation_of
from assistant.core.problems import CallProblem, LayupProblem
from assistant.core.speech.step_grammar import grammar_of
from assistant.devices.protocols import RATE_HZ, Recogniser, Samples, Utterance
from assistant.devices.recognisers.choosing import TAUGHT_IS_OURS, WHISPER_MODEL, EarsChosen
from assistant.files.job_file import JobFile
from assistant.files.work import work_in
from assistant.measure.hearback_clips import KeptSound, kept_sounds, means
from assistant.measure.hearback_scores import Answer, HeardAgain, report, sets_of
from assistant.settings import Settings

Line = Callable[[str], None]
TOGETHER = "together"
NO_WHISPER = "none"
TELL_EVERY_S = 5.0


def measure_hearback(args: Namespace, settings: Settings, models: Path, line: Line) -> int:
    """The command. A job that cannot be read is told and left out (status 1, or 2 where the call was wrong)."""
    chosen = ears_for(args, settings, models)
    worst, readable = _readable(args.jobs)
    ears = load_ears(chosen) if readable else None
    heard: list[HeardAgain] = []
    for path in readable if ears else ():
        assert ears is not None
        try:
            with JobFile.open(path, read_only=True) as job_file:
                heard += _with_progress(hear_again(job_file, ears), path)
        except LayupProblem as problem:
            worst = max(worst, _tell_problem(problem))
    if readable and not heard and not worst:
        raise CallProblem("no reading in it has a sound", where=str(readable[0]), do="name a job that was spoken")
    for text in _as_json(heard, args) if args.json else _as_text(heard, args, chosen.why):
        line(text)
    return worst


def ears_for(args: Namespace, settings: Settings, models: Path) -> EarsChosen:
    """The ears of the settings, or those that the call names in their place."""
    if args.vosk_model is not None:
        settings = replace(settings, vosk_model=str(args.vosk_model))
    if args.whisper is None or _is_ours(args.whisper, models):
        return chosen_ears(settings if args.whisper is None else replace(settings, whisper=True), models)
    chosen = chosen_ears(replace(settings, whisper=False), models)
    vosk = chosen.why.splitlines()[0]
    if args.whisper == NO_WHISPER:
        return replace(chosen, why=f"{vosk}\nwhisper: left out, as the call says.")
    folder = Path(args.whisper)
    if not (folder / "model.bin").is_file():
        raise CallProblem("there is no Whisper model", where=str(folder), do=f"name its folder, or {NO_WHISPER}")
    return EarsChosen(chosen.vosk, folder, f"{vosk}\nwhisper: {folder}, as the call says. {TAUGHT_IS_OURS}")


def _is_ours(whisper: str, models: Path) -> bool:
    return whisper != NO_WHISPER and Path(whisper).resolve() == (models / WHISPER_MODEL).resolve()


def hear_again(job_file: JobFile, ears: Ears) -> Iterator[HeardAgain]:
    """Every kept sound of a job, in order, but those that were forgotten. Raises LayupProblem where the job cannot be read."""
    entries, there = job_file.entries(), set(job_file.sounds())
    sounds = list(kept_sounds(work_in(job_file), entries))
    if gone := sum(sound.truth.clip not in there for sound in sounds):
        _tell(f"{job_file.path}: {gone} sounds are not in the file any more, and are left out")
    for sound in sounds:
        if sound.truth.clip in there:
            yield HeardAgain(job_file.path.name, sound, answers(sound, job_file.clip_samples(sound.truth.clip), ears))


def answers(sound: KeptSound, samples: Samples, ears: Ears) -> tuple[Answer, ...]:
    """What each ear makes of it, and all together where there are several."""
    recognisers: list[Recogniser] = [ears.streaming, *([ears.weighing] if ears.weighing else [])]
    grammar = grammar_of(expectation_of(sound.state))
    takes: list[tuple[str, Take, float]] = []
    for ear in recognisers:
        ear.listen_for(grammar)
        began_s = time.perf_counter()
        takes.append(
            (ear.name, ear.hear(Utterance(samples, 0.0, len(samples) / RATE_HZ)), time.perf_counter() - began_s)
        )
    found = [_answer(sound, name, (take,), seconds) for name, take, seconds in takes]
    if len(takes) > 1:
        began_s = time.perf_counter()
        compared = ears.compared(tuple(take for _, take, _ in takes))
        seconds = sum(s for _, _, s in takes) + time.perf_counter() - began_s
        found.append(_answer(sound, TOGETHER, compared, seconds))
    return tuple(found)


def _answer(sound: KeptSound, ear: str, takes: tuple[Take, ...], seconds: float) -> Answer:
    decision = hear(sound.state, Heard(0.0, "", takes)).decision
    best = decision.options[0] if decision.options else None
    right = best is not None and bool(sound.truth.said) and means(best.meaning, sound.truth.said)
    words = best.words if best is not None and len(takes) > 1 else _best_words(takes)
    if decision.kind == "unclear":
        return Answer(ear, words, "refused", right, seconds)
    return Answer(ear, words, "kept" if decision.ask == "none" else "asked", right, seconds)


def _best_words(takes: Sequence[Take]) -> str:
    """The likeliest string, whatever was decided on it."""
    best = max((take.candidates[0] for take in takes if take.candidates), key=lambda c: c.share, default=None)
    return " ".join(best.words) if best else ""


def _readable(paths: Sequence[Path]) -> tuple[int, list[Path]]:
    """The jobs that can be opened, before any model is loaded; the others are told."""
    worst, found = 0, []
    for path in paths:
        try:
            with JobFile.open(path, read_only=True) as job_file:
                work_in(job_file)
            found.append(path)
        except LayupProblem as problem:
            worst = max(worst, _tell_problem(problem))
    return worst, found


def _with_progress(heard: Iterator[HeardAgain], path: Path) -> list[HeardAgain]:
    found: list[HeardAgain] = []
    told_s = time.monotonic()
    for one in heard:
        found.append(one)
        if time.monotonic() - told_s > TELL_EVERY_S:
            told_s = time.monotonic()
            _tell(f"{path}: {len(found)} sounds heard, at entry {one.sound.truth.sequences[0]}")
    _tell(f"{path}: {len(found)} sounds heard")
    return found


def _as_json(heard: list[HeardAgain], args: Namespace) -> Iterator[str]:
    rows: list[dict[str, object]] = [one.json() for one in heard] if args.each else []
    rows += [score.json() for batch in sets_of(heard, with_corrections=args.with_corrections) for score in batch]
    return (json.dumps(row, ensure_ascii=False) for row in rows)


def _as_text(heard: list[HeardAgain], args: Namespace, why: str) -> Iterator[str]:
    yield from why.splitlines()
    for one in heard if args.each else ():
        said = " / ".join(f"{a.ear}: {a.heard or '-'} [{a.kind}{'' if a.right else ', not that'}]" for a in one.answers)
        yield f"{one.job} entry {one.sound.truth.sequences[0]} {one.sound.truth.how}: {one.sound.words or '?'!r}; {said}"
    yield from report(heard, with_corrections=args.with_corrections)


def _tell_problem(problem: LayupProblem) -> int:
    _tell(f"layup: {problem}")
    return problem.exit_status


def _tell(text: str) -> None:
    print(text, file=sys.stderr, flush=True)
