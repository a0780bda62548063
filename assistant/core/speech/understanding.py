"""From what the ears heard to what was meant: the one answer that the engine, `layup parse` and `layup hear` share."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from assistant.core.events import Candidate, Take
from assistant.core.speech.evidence import Evidence
from assistant.core.speech.expectation import Expectation
from assistant.core.speech.saying import PRONOUNCED
from assistant.core.speech.step_grammar import Meaning, SpokenReading, value_text
from assistant.core.speech.weighing import Decision, Judge, Stakes, Weighed, weigh
from assistant.core.speech.wording import VERDICTS
from assistant.core.units import plain

Json = dict[str, object]


@dataclass(frozen=True)
class Understood:
    """A decision with what it was made from; `json` is the line of `layup parse` and `layup hear`."""

    decision: Decision
    judge: Judge

    def json(self) -> Json:
        """The object of design.md: words, kind, readings, command, reason, confidence, alternatives.

        `number` besides, where a part's number was spelled: as it is written.
        """
        d = self.decision
        best = d.options[0] if d.options else None
        clear = d.kind == "understood" and best is not None
        return {
            "words": best.words if best else (d.weighed[0].words if d.weighed else ""),
            "kind": best.meaning.kind if clear and best else "unclear",
            "readings": _readings(best.meaning, self.judge, d.ask) if clear and best else [],
            "command": (best.meaning.command or None) if clear and best else None,
            "reason": d.reason,
            "confidence": round(best.share, 3) if best else 0.0,
            "alternatives": [_alternative(w) for w in d.options[1 if clear else 0 : 6]],
            **({"number": best.meaning.label} if clear and best and best.meaning.label else {}),
        }


def understand(
    expectation: Expectation, takes: tuple[Take, ...], stakes: Stakes, before: Evidence[Meaning] | None = None
) -> Understood:
    """Weigh the takes of one utterance; `before` is the same said once before, under *words twice*."""
    return Understood(weigh(expectation, takes, stakes, before), stakes.judge)


PUNCTUATION = str.maketrans(",.!?;:", "      ")


def take_of_words(words: str) -> Take:
    """A take as if the words had been heard beyond doubt: the text ear of `layup parse`."""
    each = words.lower().translate(PUNCTUATION).split()
    each = [PRONOUNCED.get(w, w) for w in each]
    said = tuple(part for w in each for part in ([w] if w == "x-ray" else w.split("-")))
    return Take("text", (Candidate(said, 0.0, 1.0),), certain=True)


def _readings(meaning: Meaning, judge: Judge, ask: str) -> list[Json]:
    return [_reading(meaning, r, judge, ask) for r in meaning.readings]


def _reading(meaning: Meaning, r: SpokenReading, judge: Judge, ask: str) -> Json:
    verdict = judge(Meaning(readings=(r,), correction=meaning.correction))
    return {
        "name": r.name,
        "at": {} if r.at is None else {r.each: r.at},
        "value": value_text(r.value),
        "unit": r.unit or None,
        "verdict": verdict if verdict in VERDICTS else None,
        "ask": ask,
    }


def _alternative(w: Weighed) -> Json:
    return {
        "words": w.words,
        "share": round(w.share, 3),
        "command": w.meaning.command or None,
        "readings": [" ".join(filter(None, (r.name, r.place, plain_text(r)))) for r in w.meaning.readings],
    }


def plain_text(r: SpokenReading) -> str:
    """A value with its unit in print."""
    return f"{plain(r.value)} {r.unit}" if isinstance(r.value, Decimal) else r.value
