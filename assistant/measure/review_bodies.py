"""Bodies of entries, of every kind and full of hostile texts: of the right types, or bent away from them."""

from __future__ import annotations

import dataclasses
import json
import random
from typing import Any, get_args, get_origin, get_type_hints

from assistant.core import entries as e
from assistant.core.units import KINDS as UNIT_KINDS
from assistant.measure.review_jobs import PICTURE, SOUND, Draft, draft, opened
from assistant.measure.review_texts import LIMITS, MARKUP, NAMES, NUMBERS, ODD_SIGNS, TIMES, VERDICTS, YAML


def any_text(chance: random.Random, near: tuple[str, ...] = ()) -> str:
    """A hostile text; more often one of `near`."""
    if near and chance.random() < 0.6:
        return chance.choice(near)
    return chance.choice(chance.choice((MARKUP, MARKUP, ODD_SIGNS, NUMBERS, NAMES)))


NEAR: dict[str, tuple[str, ...]] = {
    "step": NAMES[:2], "name": NAMES[2:4], "at": ("", *NAMES[4:6]), "value": NUMBERS, "said_value": NUMBERS, "share": NUMBERS,
    "sureness": NUMBERS, "unit": ("psi", *UNIT_KINDS), "said_unit": ("psi", "bar"), "verdict": VERDICTS, "limit": LIMITS,
    "about": NAMES[6:8], "decision": e.DECISIONS, "on": ("2026-11-25", *TIMES), "words": MARKUP, "why": ("", "correction"),
    "asked": ("", "one ninety?"), "rule": ("", "the ears differ"), "answer": ("right", "wrong", "learnt"), "role": NAMES[:3],
    "procedure_text": YAML, "sheet_text": YAML, "site_text": YAML, "reason": ("", "misheard"),
}  # fmt: skip


def _hints(kind: type[Any]) -> dict[str, Any]:
    if kind.__name__ not in HINTS:
        HINTS[kind.__name__] = get_type_hints(kind)
    return HINTS[kind.__name__]


HINTS: dict[str, dict[str, Any]] = {}
"""Of each kind, worked out once."""


def any_body(kind: type[e.Entry], chance: random.Random) -> dict[str, Any]:
    """A body of this kind, each field of its type."""
    hints = _hints(kind)
    return {field.name: _any(hints[field.name], field.name, chance) for field in dataclasses.fields(kind)}


def _any(kind: Any, name: str, chance: random.Random) -> Any:
    if kind is str:
        return any_text(chance, NEAR.get(name, ()))
    if kind is int:
        return chance.choice((0, 1, 2, 3, 5, chance.randrange(12), -1, 10**6, 2**53 - 1, -(2**53) + 1))
    if kind is bool:
        return chance.random() < 0.7
    if get_origin(kind) is tuple:
        first, *rest = get_args(kind)
        if rest == [...]:
            return [_any(first, name, chance) for _ in range(chance.choice((0, 0, 1, 2, 3, 40)))]
        return [_any(one, name, chance) for one in (first, *rest)]
    hints = _hints(kind)
    return {field.name: _any(hints[field.name], field.name, chance) for field in dataclasses.fields(kind)}


def bent_body(body: dict[str, Any], chance: random.Random) -> str:
    """The body as JSON with one thing of a wrong type, a field more or less, or what no JSON has."""
    wrong: Any = chance.choice((
        None, True, 1.5, -1, 2**70, 10**4000, [], {}, [[[]]], ["a", 1], {"a": {"b": []}}, "text", float("nan"),
        [None], [{"words": 1}],
    ))  # fmt: skip
    roll = chance.random()
    if roll < 0.5 and body:
        body[chance.choice(sorted(body))] = wrong
    elif roll < 0.7:
        body[any_text(chance)] = wrong
    elif body:
        del body[chance.choice(sorted(body))]
    try:
        text = json.dumps(body)
    except ValueError:  # 10**4000 has no decimal form that Python would give
        text = '{"step":' + "9" * 5000 + "}"
    deep = chance.choice((900, 20_000, 200_000))
    return chance.choice(
        (text, text, text, "[" * deep + "]" * deep, '{"a":' * deep + "1" + "}" * deep, "", "null", "[]", "{")
    )


def any_drafts(chance: random.Random) -> list[Draft]:
    """A job's entries, most of them well formed and full of hostile texts."""
    first = draft(opened(chance))
    if chance.random() < 0.5:
        first = _draft(e.JobOpened, chance)
    found = [first] if chance.random() < 0.9 else []
    kinds = sorted(e.KINDS.values(), key=lambda kind: kind.kind)
    common = [e.ReadingKept] * 6 + [
        e.RemarkKept,
        e.StepOpened,
        e.QuestionAsked,
        e.FindingDecided,
        e.EntryUpheld,
        e.PartScanned,
    ]
    for _ in range(chance.choice((1, 5, 12, 25))):
        found.append(_draft(chance.choice(chance.choice((kinds, common))), chance))
    return found


def _draft(kind: type[e.Entry], chance: random.Random) -> Draft:
    body = any_body(kind, chance)
    clip = chance.choice(("", "", "", SOUND.row[0], PICTURE.row[0], "0" * 64))
    at = (
        chance.choice(TIMES)
        if chance.random() < 0.02
        else chance.choice((*TIMES[:2], ""))
        if chance.random() < 0.05
        else ""
    )
    return Draft(kind.kind, kind.version, json.dumps(body, ensure_ascii="\\ud" in json.dumps(body)), clip, at)
