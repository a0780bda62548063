"""Learning a technician's voice: prompts are repeated, the first half is learnt from, the second tells whether it helped.

What is learnt is kept only where it is better than what that technician is heard with now: no more words wrong and no fewer
prompts right in the second half, and what was said likelier by more than chance would have it: by a standard error of the mean
gain over prompts where fewer words are wrong, else by two. Nothing else is ever changed.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import numpy.typing as npt

from assistant.bench.repeating_prompts import Repeating
from assistant.core.enrolment import PROMPTS, VOCABULARY, same_reading, words_wrong
from assistant.core.problems import CallProblem, DeviceTrouble, ModelProblem
from assistant.core.speech.automaton import repeat, words
from assistant.core.speech.compiling import compile_grammar
from assistant.devices.protocols import RATE_HZ, Samples, Utterance
from assistant.devices.recognisers.adapting.acoustic_file import AcousticFile, write_acoustic_file
from assistant.devices.recognisers.adapting.learning import BaseModel, Fit, Said, learn, read_base
from assistant.devices.recognisers.adapting.transform import folded
from assistant.devices.recognisers.vosk_ear import UNKNOWN, VoskEar
from assistant.files.voices import CHANGED, PARTS, Learnt, Tally, Voice, keep_voice

Line = Callable[[str], None]

ASKED_AGAIN = 2
"""A prompt is said again so often where nothing fits; then it is left out."""
GIVES_UP_AFTER = 3
"""So many prompts left out in a row: something is wrong with the microphone, or nobody is there."""
SOMETHING_ELSE = -6.0
"""Mean log P(prompt | sound) a word below which it is plainly something else.

On the tuning speakers: what was said lies above -2.8, in noise at 5 dB above -4.4 (82 recordings of AN4's, 141 synthetic ones,
also over a poor channel); another prompt put in its place below -7.7, in noise below -6.6. That was measured against whole
other prompts only. A slip of one word is not seen and is learnt from: of ten tried (clean, one synthetic voice: *ninety* for
*nineteen*, *five* for *nine*, *foot* for *inch*) all ten were taken, at -0.2 to -5.0.
"""
LEAST_PROMPTS, LEAST_WORDS = 5, 10
"""Fewer in a half say nothing (common practice, no source)."""
LONGEST = 12
"""Words of the longest string that is listened for when a model is judged."""
LEAST_GAIN_KEPT = 0.005
"""A smaller gain of the mean logarithm a word is none (chosen, not measured): rounding alone gives a ten-thousandth."""
LIKELY, SURE = 1.0, 2.0
"""Standard errors of the mean gain that count as more than chance: with fewer words wrong, and without."""
FRAME_S = 0.02


@dataclass(frozen=True, eq=False)
class Enrolment:
    """What came of it: `folder` is where the voice is kept, None where it was no better and nothing was changed."""

    about: Learnt
    folder: Path | None
    surely: float
    """How many standard errors the mean gain of a prompt's logarithm is above nothing."""


def enrol(
    name: str,
    prompts: Sequence[str],
    repeating: Repeating,
    base: Path,
    now: Voice | None,
    root: Path,
    today: str,
    line: Line,
) -> Enrolment:
    """Hear the prompts, learn, judge, keep or not. `base` is the model's folder, `now` the usable voice of that name."""
    model = read_base(base)
    vocabulary = _known_words(prompts, model)
    with trial_copy(base) as trial:
        heard = hear_prompts(prompts, repeating, model, vocabulary, line)
        half = len(prompts) // 2
        first, second = ([said for said in part if said] for part in (heard[:half], heard[half:]))
        _check_enough(first, second, live=repeating.can_ask_again)
        line(f"learning from {_count(len(first), 'prompt')}; the other {len(second)} will judge")
        fit = Fit(model, first, vocabulary)
        change = learn(fit, progress=lambda done, most: line(f"  step {done} of at most {most}"))
        changed = folded(model.acoustic, change)
        judge = Fit(model, second, vocabulary)
        in_use = judge.scores() if now is None else Fit(read_base(now.folder), second, vocabulary).scores()
        before = _tally(now.folder if now else base, second, vocabulary, in_use)
        scores = judge.scores(change)
        _write_trial(changed, trial)
        after = _tally(trial, second, vocabulary, scores)
    speech_dbfs, noise_dbfs = levels_dbfs([s.samples for s in (*first, *second)])
    about = Learnt(name, base.name, today, speech_dbfs, noise_dbfs, before, after)
    surely = _surely(in_use, scores)
    if not is_better(before, after, surely):
        return Enrolment(about, None, surely)
    folder = keep_voice(root, about, base, lambda path: write_acoustic_file(changed, path))
    return Enrolment(about, folder, surely)


def _known_words(prompts: Sequence[str], model: BaseModel) -> list[str]:
    """What may have been said: the words of the list and of these prompts, and the model's word for any other."""
    wanted = {*VOCABULARY, *(w for p in prompts for w in p.split()), UNKNOWN}
    return sorted(wanted & model.vocabulary)


def is_better(before: Tally, after: Tally, surely: float) -> bool:
    """Is it to be kept: the rule of this module."""
    if after.wrong > before.wrong or after.right < before.right or after.score - before.score < LEAST_GAIN_KEPT:
        return False
    return surely > (LIKELY if after.wrong < before.wrong else SURE)


def hear_prompts(
    prompts: Sequence[str], repeating: Repeating, model: BaseModel, vocabulary: Sequence[str], line: Line
) -> list[Said | None]:
    """What was repeated of each prompt; None where the model has no word for it, or nothing fitting came."""
    found: list[Said | None] = []
    missed = 0
    for number, prompt in enumerate(prompts, 1):
        line(title := f"{number} of {len(prompts)}: {prompt}")
        if unknown := sorted(set(prompt.split()) - model.vocabulary):
            line(f"  left out: the model does not know {', '.join(unknown)}")
            repeating.skip()
            found.append(None)
            continue
        found.append(said := _hear_prompt(prompt, title, repeating, model, vocabulary, line))
        missed = 0 if said else missed + 1
        if repeating.can_ask_again and missed == GIVES_UP_AFTER:
            what = f"{missed} prompts in a row were not heard, or something else was said; nothing was changed"
            raise DeviceTrouble(
                what, where="microphone", do="see with `layup devices` that it is the headset's, and enrol again"
            )
    return found


def _hear_prompt(
    prompt: str, title: str, repeating: Repeating, model: BaseModel, vocabulary: Sequence[str], line: Line
) -> Said | None:
    for time in range(1 + ASKED_AGAIN * repeating.can_ask_again):
        if time:
            line(title)
        samples = repeating.hear(prompt, f"Again: {prompt}." if time else f"{prompt}.")
        if samples is None:
            line("  no speech came, or none that ended")
            continue
        said = Said(samples, tuple(prompt.split()))
        score = Fit(model, [said], vocabulary).scores()[0] / len(said.words)
        if score > SOMETHING_ELSE:
            return said
        line(f"  that was something else ({score:.1f} a word)")
    line("  left out")
    return None


def _check_enough(first: Sequence[Said], second: Sequence[Said], *, live: bool) -> None:
    needed = f"each half needs {LEAST_PROMPTS} prompts and {LEAST_WORDS} words"
    more = (
        "try nearer to the microphone"
        if live
        else f"give one recording for each of the {len(PROMPTS)} prompts in order (`layup enrol --prompts` lists them), or a "
        "folder with more in its manifest"
    )
    for which, half in (("learn from", first), ("judge by", second)):
        many = sum(len(s.words) for s in half)
        if len(half) < LEAST_PROMPTS or many < LEAST_WORDS:
            there = f"{_count(len(half), 'prompt')} with {_count(many, 'word')}"
            what = f"only {there} to {which}; nothing was changed"
            raise CallProblem(what, where="enrol", do=f"{needed}: {more}")


def _count(many: int, what: str) -> str:
    return f"{many} {what}{'' if many == 1 else 's'}"


def _tally(folder: Path, said: Sequence[Said], vocabulary: Sequence[str], scores: npt.NDArray[np.float64]) -> Tally:
    """What Vosk makes of it with the model in `folder`, where any words of the vocabulary may follow each other."""
    ear = VoskEar(folder)
    table = {w: ("word", w) for w in vocabulary if w != UNKNOWN}  # Vosk listens for that by itself
    ear.listen_for(compile_grammar(repeat(words(table), 1, LONGEST)))
    wrong = right = 0
    for s in said:
        take = ear.hear(Utterance(s.samples, 0.0, len(s.samples) / RATE_HZ))
        heard = take.candidates[0].words if take.candidates else ()
        wrong += words_wrong(s.words, heard)
        right += same_reading(s.words, heard)
    usable = np.isfinite(scores)
    many = np.array([len(s.words) for s in said])
    return Tally(len(said), right, int(many.sum()), wrong, float(scores[usable].sum() / max(1, many[usable].sum())))


@contextmanager
def trial_copy(base: Path) -> Iterator[Path]:
    """A copy of the model to try a change in; made before anybody speaks, so that a lack of room is told by then."""
    with ExitStack() as closing:
        try:
            trial = Path(closing.enter_context(TemporaryDirectory(prefix="layup-enrol-", ignore_cleanup_errors=True)))
            for part in PARTS:
                shutil.copytree(base / part, trial / part)
        except OSError as fault:
            raise _no_trial(fault) from fault
        yield trial


def _write_trial(changed: AcousticFile, trial: Path) -> None:
    try:
        write_acoustic_file(changed, trial / CHANGED)
    except OSError as fault:
        raise _no_trial(fault) from fault


def _no_trial(fault: OSError) -> ModelProblem:
    what = f"a changed model cannot be tried: {fault}; nothing was changed"
    return ModelProblem(what, where="temporary folder", do="make room there, or name another folder with TMPDIR")


def _surely(before: npt.NDArray[np.float64], after: npt.NDArray[np.float64]) -> float:
    """The mean gain over prompts, in standard errors of it."""
    gain = after - before
    gain = gain[np.isfinite(gain)]
    error = float(gain.std(ddof=1)) / len(gain) ** 0.5 if len(gain) > 1 else 0.0
    return float(gain.mean()) / error if error else 0.0


def levels_dbfs(sounds: Sequence[Samples]) -> tuple[float, float]:
    """The level of speech and of the noise floor, dB below full scale: 90th and 10th of a hundred frames of 20 ms."""
    size = round(FRAME_S * RATE_HZ)
    whole = np.concatenate([s[: len(s) // size * size] for s in sounds]).astype(np.float64).reshape(-1, size)
    power = np.maximum((whole**2).mean(axis=1), 1.0) / 32768**2
    loud, quiet = np.percentile(10 * np.log10(power), (90, 10))
    return round(float(loud), 1), round(float(quiet), 1)
