"""`layup measure labels`: how many labels pyzbar, zxing-cpp and ours read, and what they read that is not there.

Without `--folder`, the project's own campaign: pictures of `label_pictures`, of every symbology with every damage, and
pictures without a label. With it, anyone's photographs. One JSON object a decoder (`--json`), or tables, and a picture
(`--out`). Long work tells on standard error how far it is.
"""

from __future__ import annotations

import json
import os
import shlex
import sys
import time
from argparse import Namespace
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from itertools import chain

from assistant.core.problems import CallProblem
from assistant.devices.camera import read_picture
from assistant.devices.preparation import grey
from assistant.measure.label_damage import STRENGTHS
from assistant.measure.label_folder import Photograph, read_photographs
from assistant.measure.label_pictures import NO_LABEL, LabelPicture, pictures, pictures_without
from assistant.measure.label_plot import plot
from assistant.measure.label_readings import FRAMES, Decoders, comparable
from assistant.measure.label_scores import Trial, report, scores
from assistant.measure.label_symbols import KINDS

Line = Callable[[str], None]
EACH = 5
"""Pictures of each symbology and damage where `--most` says nothing else."""
CAMERA_OF = 5
"""Of so many pictures of a cell the first is also shown to the camera loop, frame by frame: that takes long."""
TELL_EVERY_S = 10.0


def measure_labels(args: Namespace, line: Line) -> int:
    """The command. CallProblem where it is asked for something that there is not."""
    if args.out is not None and not args.out.is_dir():
        raise CallProblem("there is no such folder", where=str(args.out), do="make it, or name another with --out")
    if args.folder is not None:
        photographs = read_photographs(args.folder)[: args.most or None]
        if not photographs:
            raise CallProblem("nothing to look at", where=str(args.folder), do="give its manifest.csv rows")
        found = _told(_photographed(photographs), len(photographs))
    else:
        each = args.most or EACH
        found = _told(_campaign(each), each * (len(KINDS) * len(STRENGTHS) + len(NO_LABEL)))
    if args.json:
        for score in scores(found):
            line(json.dumps(score.as_json()))
        return 0
    text = [*_heading(args.folder is None), *report(found)]
    for row in text:
        line(row)
    if args.out is not None:
        (args.out / "labels.md").write_text("\n".join([*text, "", "![](labels.svg)", ""]), encoding="utf-8")
        (args.out / "labels.svg").write_text(plot(found), encoding="utf-8")
    return 0


def _campaign(each: int) -> Iterator[Trial]:
    decoders = Decoders(with_camera=True)
    cell = len(KINDS) * len(STRENGTHS)
    drawn: Iterable[LabelPicture] = chain(pictures(each, "measure"), pictures_without(each, "measure"))
    for number, one in enumerate(drawn):
        wanted = frozenset({comparable(one.text)} if one.text else ())
        with_camera = bool(wanted) and number // cell % CAMERA_OF == 0
        seen = tuple(decoders.readings(one.picture, camera=with_camera))
        yield Trial(one.symbology, one.damage, wanted, one.linear, one.checked, seen)
    decoders.close()


def _photographed(photographs: Iterable[Photograph]) -> Iterator[Trial]:
    decoders = Decoders(with_camera=False)
    for one in photographs:
        seen = tuple(decoders.readings(grey(read_picture(one.path))))
        linear = all(text.isprintable() for text in one.wanted)
        yield Trial("any", "photographs", one.wanted, linear, True, seen)
    decoders.close()


def _told(trials: Iterable[Trial], of: int) -> list[Trial]:
    found: list[Trial] = []
    told_s = time.monotonic()
    for trial in trials:
        found.append(trial)
        if time.monotonic() - told_s > TELL_EVERY_S:
            told_s = time.monotonic()
            print(f"{len(found)} of {of} pictures", file=sys.stderr, flush=True)
    return found


def _heading(own: bool) -> Iterator[str]:
    yield "# How many labels are read"
    yield ""
    yield f"`{shlex.join(['layup', *sys.argv[1:]])}`, {date.today()}, {os.cpu_count()} cores."
    yield "pyzbar and zxing-cpp as they come, one call a picture; ours on stills, as `layup scan`. Times are one thread's work."
    if own:
        yield "Pictures of 1280 x 720, drawn with seeds and strengths that nothing was tuned on. ours, camera: of each five"
        yield f"pictures of a cell the first, as {FRAMES} frames, shaken, with noise: read is what two agreed on, ms a frame."
