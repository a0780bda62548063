"""`layup measure labels`: how many labels pyzbar, zxing-cpp and ours read, and what they read that is not there.

Without `--folder`, the project's own campaign: pictures of `label_pictures`, of every symbology with every damage, and
pictures without a label. With it, anyone's photographs. One JSON object a decoder (`--json`), or tables, and a picture
(`--out`). Long work tells on standard error how far it is. With `--fuzz`, the parsers of labels instead (`label_fuzz`).
"""

from __future__ import annotations

import json
import os
import shlex
import sys
import time
from argparse import Namespace
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import replace
from datetime import date

from assistant.core.problems import CallProblem
from assistant.devices.camera import read_picture
from assistant.devices.label_reader import ZbarReader
from assistant.devices.preparation import grey
from assistant.devices.protocols import Picture
from assistant.measure.label_campaign import CAMERA_OF, campaign
from assistant.measure.label_folder import Photograph, read_photographs
from assistant.measure.label_fuzz import measure_parsers
from assistant.measure.label_pictures import shots
from assistant.measure.label_plot import plot
from assistant.measure.label_readings import FRAMES, OURS, Decoders, comparable
from assistant.measure.label_scores import PLAIN, Trial, report, scores
from assistant.measure.label_workers import cores, looked_at

Line = Callable[[str], None]
EACH = 5
"""Pictures of each symbology and damage where `--most` says nothing else."""
TELL_EVERY_S = 10.0


def measure_labels(args: Namespace, line: Line) -> int:
    """The command. CallProblem where it is asked for something that there is not."""
    if args.fuzz is not None:
        return measure_parsers(args.fuzz, as_json=args.json, line=line)
    if args.out is not None and not args.out.is_dir():
        raise CallProblem("there is no such folder", where=str(args.out), do="make it, or name another with --out")
    workers = args.workers or cores()
    if args.folder is None:
        wanted = tuple(shots(args.most or EACH, args.first))
        found = campaign(wanted, workers, args.keep, _telling())
    else:
        found = _photographed(read_photographs(args.folder)[: args.most or None], workers)
        if not found:
            raise CallProblem("nothing to look at", where=str(args.folder), do="give its manifest.csv rows")
    if args.json:
        for score in scores(found):
            line(json.dumps(score.as_json()))
        return 0
    text = [*_heading(args.folder is None, workers), *report(found)]
    for row in text:
        line(row)
    if args.out is not None:
        (args.out / "labels.md").write_text("\n".join([*text, "", "![](labels.svg)", ""]), encoding="utf-8")
        (args.out / "labels.svg").write_text(plot(found), encoding="utf-8")
    return 0


def _photographed(photographs: Sequence[Photograph], workers: int) -> list[Trial]:
    tell, found = _telling(), list[Trial]()
    for trial in looked_at(look_at, photographs, workers):
        found.append(trial)
        tell(f"{len(found)} of {len(photographs)} pictures")
    return found


def look_at(decoders: Decoders, one: Photograph) -> Trial:
    """What all decoders make of a photograph, and how ours names the symbols that it alone reads."""
    picture = grey(read_picture(one.path))
    trial = Trial("any", "photographs", one.wanted, None, None, tuple(decoders.readings(picture)))
    if trial.read_by(*PLAIN) or not trial.read_by(OURS):
        return trial
    return replace(trial, named=_symbologies(picture, one.wanted))


def _symbologies(picture: Picture, wanted: frozenset[str]) -> tuple[str, ...]:
    """How ours names the symbols of these texts. It looks once more: readings are texts alone, and these pictures are few."""
    with closing(ZbarReader(still=True)) as reader:
        return tuple(sorted({label.symbology for label in reader.read(picture) if comparable(label.text) in wanted}))


def _telling() -> Callable[[str], None]:
    """Tells on standard error, now and then."""
    told_s = time.monotonic()

    def tell(how_far: str) -> None:
        nonlocal told_s
        if time.monotonic() - told_s > TELL_EVERY_S:
            told_s = time.monotonic()
            print(how_far, file=sys.stderr, flush=True)

    return tell


def _heading(own: bool, workers: int) -> Iterator[str]:
    yield "# How many labels are read"
    yield ""
    in_processes = f"{workers} process{'es' if workers > 1 else ''}"
    yield f"`{shlex.join(['layup', *sys.argv[1:]])}`, {date.today()}, {os.cpu_count()} cores, {in_processes}."
    yield "pyzbar and zxing-cpp as they come, one call a picture; ours on stills, as `layup scan`. Times are one thread's work."
    if own:
        yield "Pictures of 1280 x 720, drawn with seeds and strengths that nothing was tuned on. ours, camera: of each"
        yield f"{CAMERA_OF} pictures of a cell the first, as {FRAMES} frames, shaken, with noise: read is what two agreed on,"
        yield "ms a frame; done at the end, by one process alone."
