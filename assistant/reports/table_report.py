"""The report as tables: CSV with one row for each value, part, remark, decision and question, and JSON with everything."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import re
from collections.abc import Iterator
from decimal import Decimal

from assistant.core.entries import Rival
from assistant.reports.job_report import JobReport

COLUMNS = (
    "sequence", "time", "step", "kind", "name", "place", "value", "unit", "verdict", "limit", "words", "replaced_by",
    "gtin", "number", "lot", "serial", "expiry", "clip",
    "amended", "count",
    "sureness", "rule", "rivals", "upheld", "about", "who", "by", "on", "answer",
)  # fmt: skip
"""`kind`: customer, value, earlier value (replaced by the entry in `replaced_by`), part, part refused, note, finding,
photograph, decision, question, upheld; `count`: pieces of a part that were taken; `about`: the entry that a decision, a
question or an upholding is about; `upheld`: who let the entry stand; `who`: wrote or asked it; `by` and `on`: who of the
customer's side decided (who answered), and when; `rivals`: what else may have been meant, as "words (value) share"."""

FORMULA_BEGINS = ("=", "+", "-", "@", "\t", "\r")
NUMBER = re.compile(r"-?\d+(\.\d+)?")


def csv_of(report: JobReport) -> str:
    """One row an entry, in order, comma separated, quoted where needed (RFC 4180).

    Texts come from labels and ears: one that a spreadsheet would take for a formula gets an apostrophe in front.
    """
    out = io.StringIO(newline="")
    table = csv.DictWriter(out, COLUMNS, restval="")
    table.writeheader()
    for row in sorted(_rows(report), key=lambda row: int(row["sequence"])):
        table.writerow({column: _harmless(text) for column, text in row.items()})
    return out.getvalue()


def json_of(report: JobReport) -> str:
    """The whole report, its summary first."""
    summary = {
        "done": report.count("done"),
        "unable": report.count("unable"),
        "open": report.count("open"),
        "passed_over": report.count("passed over"),
        "values": len(report.values),
        "out_of_limits": [v.sequence for v in report.out_of_limits],
        "findings": [f.sequence for f in report.findings],
        "corrections": [c.old.sequence for c in report.corrections],
        "unclear": report.unclear,
    }
    whole = {"format": "lay-up job report", "version": 1, "summary": summary, **dataclasses.asdict(report)}
    return json.dumps(whole, ensure_ascii=False, indent=2, default=_decimal_text) + "\n"


def _decimal_text(value: object) -> str:
    if isinstance(value, Decimal):
        return str(value)
    raise TypeError(f"a {type(value).__name__} has no place in the report's JSON")


def _harmless(text: str) -> str:
    return f"'{text}" if text.startswith(FORMULA_BEGINS) and not NUMBER.fullmatch(text) else text


def _rows(report: JobReport) -> Iterator[dict[str, str]]:
    yield from _customer(report)
    yield from _values(report)
    yield from _replaced(report)
    yield from _parts(report)
    for remark in report.remarks:
        yield {
            "sequence": str(remark.sequence), "time": remark.time, "step": remark.step,
            "kind": remark.about, "words": remark.words, "clip": remark.clip,
        }  # fmt: skip

    for photograph in report.photographs:
        yield {
            "sequence": str(photograph.sequence), "time": photograph.time, "step": photograph.step,
            "kind": "photograph", "words": photograph.of, "clip": photograph.clip,
        }  # fmt: skip

    yield from _foreman(report)


def _customer(report: JobReport) -> Iterator[dict[str, str]]:
    """Whose machine it is stands in the job's first entry."""
    if report.customer:
        yield {"sequence": "1", "time": report.began, "kind": "customer", "words": report.customer}


def _foreman(report: JobReport) -> Iterator[dict[str, str]]:
    for finding, d in report.decisions.items():
        yield {
            "sequence": str(d.sequence), "time": d.time, "kind": "decision", "name": d.decision, "words": d.words,
            "about": str(finding), "who": d.who, "by": d.by, "on": d.on,
        }  # fmt: skip
    for q in report.questions:
        yield {
            "sequence": str(q.sequence), "time": q.time, "kind": "question", "words": q.text, "about": str(q.about),
            "who": q.who, "answer": q.answer, "by": q.answer_who, "clip": q.answer_clip,
        }  # fmt: skip
    for entry, u in report.upheld.items():
        yield {
            "sequence": str(u.sequence), "time": u.time, "kind": "upheld", "words": u.why, "about": str(entry), "who": u.who,
        }  # fmt: skip


def _values(report: JobReport) -> Iterator[dict[str, str]]:
    for v in report.values:
        yield {
            "sequence": str(v.sequence), "time": v.time, "step": v.step, "kind": "value", "name": v.name,
            "place": v.place, "value": v.value, "unit": v.unit, "verdict": v.verdict, "limit": v.limit,
            "words": v.words, "clip": v.clip, "amended": v.amended, "sureness": v.sureness, "rule": v.rule,
            "rivals": "; ".join(_rival(other) for other in v.rivals), "upheld": _upheld(report, v.sequence),
        }  # fmt: skip


def _replaced(report: JobReport) -> Iterator[dict[str, str]]:
    for c in report.corrections:
        yield {
            "sequence": str(c.old.sequence), "time": c.old.time, "step": c.step, "kind": "earlier value",
            "name": c.name, "place": c.old.place, "value": c.old.value, "unit": c.old.unit,
            "verdict": c.old.verdict, "words": c.old.words, "replaced_by": str(c.old.by), "clip": c.old.clip,
        }  # fmt: skip


def _parts(report: JobReport) -> Iterator[dict[str, str]]:
    for p in report.parts:
        yield {
            "sequence": str(p.sequence), "time": p.time, "step": p.step,
            "kind": "part" if p.kept else "part refused", "name": p.role, "verdict": p.answer, "gtin": p.gtin,
            "number": p.number, "lot": p.lot, "serial": p.serial, "expiry": p.expiry, "words": p.text,
            "clip": p.clip, "count": str(p.count) if p.kept else "", "upheld": _upheld(report, p.sequence),
        }  # fmt: skip


def _rival(other: Rival) -> str:
    means = f" ({other.means})" if other.means else ""
    return f"{other.words}{means} {other.share}"


def _upheld(report: JobReport, sequence: int) -> str:
    return report.upheld[sequence].who if sequence in report.upheld else ""
