"""The calls that look at something and change nothing: hear, parse, scan, prove, figure."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from collections.abc import Iterable
from datetime import date

from assistant.bench.clock import WallClock
from assistant.bench.equipment import chosen_ears, hearing_with, label_reader, load_ears
from assistant.bench.listening import hear_files, parse_words
from assistant.bench.shelf import Shelf
from assistant.calls.printing import print_line, show_stage
from assistant.calls.working import say_which
from assistant.core.problems import CallProblem, LayupProblem
from assistant.files.model_store import models_root
from assistant.files.work import read_work
from assistant.settings import find_settings


def hear(args: Namespace) -> int:
    """What the ears make of recordings at that step: words, readings, verdict, and whether it would ask."""
    settings = find_settings(args.settings)
    work = read_work(args.procedure, args.machine, args.site)
    chosen = chosen_ears(settings, models_root(), work.site.language)
    if not args.json:
        say_which(chosen)
    hearing = hearing_with(load_ears(chosen), settings, Shelf(), WallClock().now_s)
    _print_rows(hear_files(work, args.step, args.sounds, hearing, date.today()), as_json=args.json)
    return 0


def parse(args: Namespace) -> int:
    """What a sentence would mean at that step, as if it had been heard beyond doubt; of a spelled part number, that number."""
    work = read_work(args.procedure, args.machine, args.site)
    lines = [line.strip() for line in sys.stdin] if args.words == ["-"] else args.words
    rows = (parse_words(work, args.step, line, date.today()) for line in lines if line)
    _print_rows(rows, as_json=args.json)
    return 0


def _print_rows(rows: Iterable[dict[str, object]], *, as_json: bool) -> None:
    for row in rows:
        print_line(json.dumps(row, ensure_ascii=False) if as_json else _row_text(row))


def _row_text(row: dict[str, object]) -> str:
    """One row for a person."""
    parts = [f"{row['sound']}: " if "sound" in row else "", f"{row['words']!r} -> {row['kind']}"]
    if row["command"]:
        parts.append(f" {row['command']}")
    if "number" in row:
        parts.append(f" number {row['number']}")
    readings = row["readings"]
    assert isinstance(readings, list)
    for r in readings:
        where = " ".join(f"{k} {v}" for k, v in r["at"].items())
        parts.append(
            f"  {r['name']} {where} = {r['value']} {r['unit'] or ''} [{r['verdict'] or 'no limit'}; ask {r['ask']}]"
        )
    parts.append(f"  ({row['reason']}; {row['confidence']})")
    return "".join(parts).replace("  =", " =")


def scan(args: Namespace) -> int:
    """What the labels in pictures say. Status 1 where a picture has none, or one that cannot be trusted; 2 where one is no
    picture: the others are told all the same."""
    from assistant.devices.scan import scan_pictures

    reader, worst = label_reader(still=True), 0
    for path in args.images:
        try:
            rows = [row.as_json() for row in scan_pictures([path], reader, date.today())]
        except LayupProblem as problem:
            print(f"layup: {problem}", file=sys.stderr)
            worst = max(worst, problem.exit_status)
            continue
        for row in rows:
            print_line(json.dumps(row, ensure_ascii=False) if args.json else _label_text(row))
            worst = max(worst, 1 if row["problem"] else 0)
    return worst


def _label_text(row: dict[str, object]) -> str:
    fields = row["fields"]
    assert isinstance(fields, dict)
    said = " ".join(f"({k}){v}" for k, v in fields.items()) or row["text"]
    problem = f"  PROBLEM: {row['problem']}" if row["problem"] else ""
    return f"{row['image']}: {row['symbology'] or 'nothing'} {said}{problem}"


def prove(args: Namespace) -> int:
    """Check procedure files: the form, and that no order of answers reaches a never. With a machine sheet, names too.

    With --sounds, what sounds alike at each step and leads elsewhere. With --ear, what is hard or dangerous to follow by ear,
    the worst first, and a score of how easy the texts are; status 1 only where something must be mended.
    """
    from assistant.bench.proving import prove_file, with_ear, with_sounds

    if args.sounds and args.machine is None:
        raise CallProblem("what can be said hangs on the machine", where="--sounds", do="name its sheet with --machine")
    proofs = [prove_file(path, args.machine, args.site) for path in args.procedures]
    if args.sounds:
        named = zip(proofs, args.procedures, strict=True)
        proofs = [with_sounds(proof, path, args.machine, args.site, date.today()) for proof, path in named]
    if args.ear:
        named = zip(proofs, args.procedures, strict=True)
        proofs = [with_ear(proof, path, args.machine, args.site, date.today(), show_stage) for proof, path in named]
        show_stage("")
    for proof in proofs:
        print_line(json.dumps(proof.as_json(), ensure_ascii=False) if args.json else proof.text())
    return 0 if all(proof.ok for proof in proofs) else 1


def figure(args: Namespace) -> int:
    """One trade computation, with its working line by line and its source. Without a NAME they are listed.

    Inputs are NAME=VALUE with the unit behind the number: sg=1.065, t=-5degC, sets with commas: 120,115,118psi. Without
    inputs, what that computation takes. Any unit of the same kind will do; a value outside of a table is refused.
    """
    from assistant.reports.worked_figure import computations_text, figure_json, figure_text, inputs_text, work_figure

    if args.name is None:
        print_line(computations_text())
    elif not args.inputs:
        print_line(inputs_text(args.name))
    else:
        found = work_figure(args.name, args.inputs)
        print_line(json.dumps(figure_json(args.name, found), ensure_ascii=False) if args.json else figure_text(found))
    return 0


def schemas(args: Namespace) -> int:
    """Write the form of procedure, sheet and site files as JSON Schema, for an editor to complete and explain them.

    A file names its schema in its first line: # yaml-language-server: $schema=schemas/procedure.schema.json
    """
    from assistant.files.schema_files import write_schemas

    for path in write_schemas(args.folder):
        print_line(str(path))
    return 0
