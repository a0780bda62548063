"""`layup parts`: the parts used in a folder's jobs as a table, as JSON, and as lines for a machine sheet."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Callable, Sequence

from assistant.reports.parts_used import PartLot, PartsUsed, Use, parts_used
from assistant.reports.values import visible

HEAD = ("part", "number", "lot", "pieces", "machines")


def tell_parts(args: Namespace, line: Callable[[str], None], complain: Callable[[str], None]) -> int:
    """`args` as `layup parts` has them; what could not be read goes to `complain`. The exit status: 1 where something could
    not be read, or one serial is in two jobs. Raises CallProblem as `parts_used`."""
    found = parts_used(args.folder, args.lot)
    for text in _told(args, found):
        line(text)
    for problem in found.problems:
        complain(str(problem))
    for lot, serial, jobs in found.serials_twice:
        complain(
            f"{lot.say}, serial {visible(serial)}, was taken in {', '.join(jobs)}: one packet cannot be in two machines"
        )
    return 1 if found.problems or found.serials_twice else 0


def _told(args: Namespace, found: PartsUsed) -> list[str]:
    if args.json:
        return [json.dumps(lot_json(lot), ensure_ascii=False) for lot in found.lots]
    return [sheet_lines(found) if args.learnt else parts_table(found)]


def lot_json(lot: PartLot) -> dict[str, object]:
    """One object a part and lot."""
    return {
        "part": lot.say,
        "role": lot.role,
        "gtin": lot.gtin,
        "number": lot.number,
        "lot": lot.lot,
        "count": lot.count,
        "uses": [
            {
                "job": use.job, "machine": use.machine, "machine_number": use.machine_number, "began": use.began,
                "step": use.step, "entry": use.entry, "count": use.count, "serial": use.serial, "answer": use.answer,
            }
            for use in lot.uses
        ],
    }  # fmt: skip


def parts_table(found: PartsUsed) -> str:
    """For a person: a row a part and lot, its machines one under the other."""
    rows = [HEAD]
    for lot in found.lots:
        machines = _machines(lot)
        rows.append((lot.say, visible(lot.gtin or lot.number), visible(lot.lot) or "-", str(lot.count), machines[0]))
        rows += [("", "", "", "", more) for more in machines[1:]]
    widths = [max(len(row[i]) for row in rows) for i in range(len(HEAD))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]
    total = sum(lot.count for lot in found.lots)
    return "\n".join([*lines, f"pieces: {total}; jobs read: {found.jobs}"])


def _machines(lot: PartLot) -> list[str]:
    """One line a job, unless serials or answers part its pieces."""
    together: dict[tuple[str, str, str], list[Use]] = {}
    for use in lot.uses:
        together.setdefault((use.job, use.serial, use.answer), []).append(use)
    return [_machine(uses[0], sum(use.count for use in uses)) for uses in together.values()]


def _machine(use: Use, count: int) -> str:
    number = f" {visible(use.machine_number)}" if use.machine_number else ""
    more = [f"{count} pieces"] if count > 1 else []
    more += [f"serial {visible(use.serial)}"] if use.serial else []
    more += [use.answer] if use.unsure else []
    beside = f" ({', '.join(more)})" if more else ""
    return f"{use.machine}{number}, {use.began}, {use.job}{beside}"


def sheet_lines(found: PartsUsed) -> str:
    """What was affirmed though the sheet did not list it, as lines to put into the sheet once someone has looked."""
    lines: list[str] = []
    for model in sorted({use.machine for lot in found.lots for use in lot.uses}):
        own = [lot for lot in found.lots if any(u.machine == model and u.answer == "not known" for u in lot.uses)]
        lines += [f"# {model}", *_learnt(own)] if own else []
    return "\n".join(lines) if lines else "nothing was affirmed that the sheets do not list"


def _learnt(lots: Sequence[PartLot]) -> list[str]:
    """One line a product: lots of it are together."""
    products = dict.fromkeys((lot.role, "gtins" if lot.gtin else "numbers", lot.gtin or lot.number) for lot in lots)
    return [f"{role}: {{{key}: [{json.dumps(number, ensure_ascii=False)}]}}" for role, key, number in products]
