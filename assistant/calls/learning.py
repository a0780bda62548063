"""The call that learns a voice: enrol."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from assistant.bench.repeating_prompts import prompts_of
from assistant.calls.printing import print_line
from assistant.core.enrolment import PROMPTS
from assistant.core.problems import CallProblem
from assistant.files.model_store import models_root
from assistant.files.voices import voices_root
from assistant.measure.recordings import read_manifest
from assistant.settings import find_settings


def enrol(args: Namespace) -> int:
    """Learn a technician's voice: repeat about two minutes of prompts. Kept only where it is better, and it says by how much.

    The first half is learnt from, the second judges. The voice is kept in this user's data folder, for that name, and used
    by `run` and `resume` with `--technician NAME`; `layup models` lists the voices. Put the headset on as at work, and let
    the bay be quiet. Ctrl-C ends it, and nothing is changed. With recordings: one for each prompt in order (`layup enrol
    --prompts` lists them), or a folder whose manifest.csv says what was said in each (path, words, and speaker where it is
    known). Status 1 where it was no better.
    """
    from assistant.bench.enrolling_session import enrol_from, forget

    settings = find_settings(args.settings)
    if args.prompts:
        print_line("\n".join(PROMPTS))
        return 0
    if args.name is None:
        raise CallProblem("whose voice it is was not said", where="NAME", do="say `layup enrol NAME`, the name first")
    if args.forget:
        print_line(forget(args.name, voices_root()))
        return 0
    prompts, ears = _said_in(args.ears, " ".join(args.name.split()))
    return enrol_from(args.name, prompts, ears, settings, models_root(), voices_root(), args.voice, print_line)


def _said_in(ears: list[str], name: str) -> tuple[tuple[str, ...], list[Path] | None]:
    """The prompts, and their recordings; None for the microphone."""
    if ears == ["mic"]:
        return PROMPTS, None
    paths = [Path(name) for name in ears]
    if len(paths) != 1 or not paths[0].is_dir():
        if len(prompts := prompts_of(paths, PROMPTS)) < len(PROMPTS):
            print_line(f"recordings of the first {len(prompts)} of {len(PROMPTS)} prompts")
        return prompts, paths
    rows = [row for row in read_manifest(paths[0]) if row.words_known]
    speakers = sorted({" ".join(row.speaker.split()) or "(not named)" for row in rows})
    if len(speakers) == 1 and speakers[0] not in (name, "(not named)"):
        what = f"{speakers[0]} speaks in these recordings, as their manifest.csv says, and not {name}"
        do = f"say `layup enrol '{speakers[0]}'`, or put the name by which {name} works into the column speaker"
        raise CallProblem(what, where=str(paths[0]), do=do)
    if len(speakers) > 1:
        what = f"{len(speakers)} people speak in these recordings: {', '.join(speakers[:4])}"
        raise CallProblem(what, where=str(paths[0]), do="one voice is learnt at a time: give each a folder of its own")
    return tuple(row.words for row in rows), [row.path for row in rows]
