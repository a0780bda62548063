"""`layup measure speech`: how well each ear hears, alone and together, and what the program makes of it.

With `--folder`, anyone's recordings, at `--grammar numbers` (one to ten number words in any order) or at a step of a procedure;
without, the project's own campaign (`speech_campaign`). Each recording is heard once by each ear in each sound. One JSON object
a set and ear (`--json`), or a recording (`--each`), or tables and a picture (`--out`); `--parts` shows where the time of the
weighing ear goes instead; `--fit` prints the numbers of `core/speech/calibration.py` as the tuning speakers give them (and
those of `--folder`). Long work tells on standard error how far it is.
"""

from __future__ import annotations

import json
import os
import shlex
import sys
import tempfile
import time
from argparse import Namespace
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, replace
from datetime import date
from pathlib import Path

from assistant.bench.equipment import chosen_ears, load_ears
from assistant.bench.hearing import Ears
from assistant.bench.listening import state_at
from assistant.core.problems import CallProblem
from assistant.files.work import read_work
from assistant.measure.calibrating import fits, row_of
from assistant.measure.speech_campaign import campaign, compression
from assistant.measure.speech_confusion import plot_confusion
from assistant.measure.speech_moments import AnyNumbers, AtStep, Moment
from assistant.measure.speech_parts import RECORDINGS, measure_parts
from assistant.measure.speech_plot import plot
from assistant.measure.speech_scores import scores
from assistant.measure.speech_sets import CLEAN, Condition, SpeechSet, conditions, sets_of_folder, talk_of_folder
from assistant.measure.speech_table import reliability, report, scores_by_level
from assistant.measure.speech_trials import Trial, trials
from assistant.settings import Settings

Line = Callable[[str], None]
TELL_EVERY_S = 5.0


def measure_speech(args: Namespace, settings: Settings, models: Path, line: Line) -> int:
    """The command. CallProblem where it is asked for something that there is not, before any model is loaded."""
    sounds = conditions(args.noise, args.snr, otherwise=args.folder is None)
    if args.vosk_model is not None:
        settings = replace(settings, vosk_model=str(args.vosk_model))
    if args.out is not None and not args.out.is_dir():
        raise CallProblem("there is no such folder", where=str(args.out), do="make it, or name another with --out")
    chosen = chosen_ears(settings, models)
    with tempfile.TemporaryDirectory() as temporary:
        voices = Path(temporary) / "voices"  # noise follows from a recording's folder and name: the same at every run
        voices.mkdir()
        sets = _sets(args, voices)
        ears = load_ears(chosen)
        if args.parts:
            return measure_parts(ears.weighing, [one.first(RECORDINGS) for one in sets if not one.talk], line)
        if args.fit:
            return _print_fit(_hear(sets, conditions("", "", otherwise=True), ears), line)
        told = _hear(sets, sounds, ears)
        if args.json or args.each:
            _print_json(told, line, each=args.each)
            return 0
        heard = [trial for batch in told for trial in batch]
    text = [*_heading(chosen.why, sets), *report(heard)]
    for row in text:
        line(row)
    if args.out is not None:
        _write(args.out, text, heard)
    return 0


def _sets(args: Namespace, folder: Path) -> tuple[SpeechSet, ...]:
    """What there is to hear, empty sets left out. CallProblem where nothing is."""
    if args.fit:
        more = sets_of_folder(args.folder, compression()) if args.folder else ()
        found = (*campaign(args.data, folder, _tell, "tune"), *more)
    elif args.folder is None:
        found = campaign(args.data, folder, _tell)
    else:
        moment = _moment(args)
        found = sets_of_folder(args.folder, moment)
        if args.talk is not None:
            found += (talk_of_folder(args.talk, moment),)
    some = tuple(one.first(args.most) for one in found if one.recordings)
    if not some:
        raise CallProblem(
            "nothing to hear", where=str(args.folder or args.data), do="name a folder whose manifest.csv has rows"
        )
    return some


def _moment(args: Namespace) -> Moment:
    if args.grammar == "numbers":
        return AnyNumbers()
    if args.procedure is None or args.machine is None:
        raise CallProblem("whose step?", where="--grammar", do="give --procedure and --machine with a step's name")
    return AtStep(state_at(read_work(args.procedure, args.machine, args.site), args.grammar, date.today()))


def _hear(sets: tuple[SpeechSet, ...], sounds: tuple[Condition, ...], ears: Ears) -> Iterator[list[Trial]]:
    """One batch a set and sound; talk is heard clean alone."""
    work = [(one, sound) for one in sets for sound in (sounds if not one.talk else (CLEAN,))]
    of = sum(len(one.recordings) for one, _ in work)
    done = 0
    for one, sound in work:
        yield list(_with_progress(trials(one, sound, ears), f"{one.name}, {sound}", done, of))
        done += len(one.recordings)


def _with_progress(batch: Iterable[Trial], what: str, done: int, of: int) -> Iterator[Trial]:
    told_s = time.monotonic()
    for n, trial in enumerate(batch, done + 1):
        yield trial
        if time.monotonic() - told_s > TELL_EVERY_S:
            told_s = time.monotonic()
            _tell(f"{n} of {of} heard ({what})")


def _tell(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def _print_fit(told: Iterable[list[Trial]], line: Line) -> int:
    for text in fits([row_of(trial) for batch in told for trial in batch]):
        line(text)
    return 0


def _print_json(told: Iterable[list[Trial]], line: Line, *, each: bool) -> None:
    for batch in told:
        for row in map(_each, batch) if each else (score.json() for score in scores(_name(batch[0]), batch)):
            line(json.dumps(row, ensure_ascii=False))


def _name(trial: Trial) -> str:
    return trial.of.name if trial.condition == CLEAN else f"{trial.of.name}, {trial.condition}"


def _each(trial: Trial) -> dict[str, object]:
    """One recording: what each ear heard and what would follow."""
    recording = trial.recording
    ears = {o.ear: {k: v for k, v in asdict(o).items() if k != "ear"} for o in trial.outcomes}
    return {
        "set": _name(trial),
        "path": str(recording.path),
        "words": recording.words,
        "speaker": recording.speaker,
        "ears": ears,
    }


def _heading(why: str, sets: tuple[SpeechSet, ...]) -> Iterator[str]:
    yield "# How well the ears hear"
    yield ""
    yield f"`{shlex.join(['layup', *sys.argv[1:]])}`, {date.today()}, {os.cpu_count()} cores."
    yield "Ears alone and together; the median is the time from the end of speech to the meaning. Noises of one ratio are"
    yield "counted together though the recordings are the same, so their intervals are too narrow. Turns: by the model in"
    yield "`speech_scores.py`. Who was kept apart, and why: `speakers.toml`."
    yield ""
    yield from (f"- {text}" for text in why.splitlines())
    for one in sets:
        speakers = len({r.speaker for r in one.recordings} - {""})
        yield f"- {one.name}: {len(one.recordings)} recordings{f' of {speakers} speakers' if speakers else ''}"


def _write(folder: Path, text: list[str], heard: list[Trial]) -> None:
    pictures = ["", "![](speech.svg)", "", "![](confusion.svg)", ""]
    (folder / "speech.md").write_text("\n".join([*text, *pictures]), encoding="utf-8")
    (folder / "confusion.svg").write_text(plot_confusion(heard), encoding="utf-8")
    (folder / "speech.svg").write_text(plot(tuple(scores_by_level(heard)), reliability(heard)), encoding="utf-8")
