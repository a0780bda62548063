"""Readings: keep them, ask about them, take them twice. What is kept is spoken only when it is on disk."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from assistant.core import entries as e
from assistant.core.judging import JUDGED_AGAIN, judged_by, step_of, to_correct, verdict_on, verdicts_on
from assistant.core.procedure import position_in
from assistant.core.speech.asking import settles
from assistant.core.speech.evidence import Evidence, without
from assistant.core.speech.step_grammar import Meaning, SpokenReading, value_text
from assistant.core.speech.weighing import Decision, Grounds
from assistant.core.speech.wording import (
    amount_aloud,
    place_aloud,
    question_affirm,
    question_choose,
    rounded,
    value_aloud,
    verdict_aloud,
)
from assistant.core.state import Question, Turn
from assistant.core.turns.opening import go_on, put_again

ASKED_TOO_OFTEN, DENIED = "asked three times", "denied"
"""Why a value that was asked about is not kept."""
SAID_AGAIN = "said again"
"""How a question was answered by a value instead of a yes."""
BAD = ("low", "high", "outside")
"""The verdicts with which a value is a finding, where the procedure has one for it."""
ASK_AT_MOST = 3
"""Questions about one value before it is left alone: then the technician measures or says it anew."""


def take_readings(turn: Turn, decision: Decision, clip: str) -> None:
    """An utterance meant readings: keep, or ask. Under *words twice* the first saying is only remembered."""
    if turn.state.talk.twice and turn.state.talk.first_of_two is None:
        turn.talk(first_of_two=decision.evidence)
        turn.say(turn.words("again"), "question")
        return
    turn.talk(first_of_two=None)
    if title := _decided_elsewhere(turn, decision.best.meaning):
        turn.say(turn.words("answer elsewhere", title=title), "refused")
    elif decision.ask != "none":
        _ask(turn, decision, clip, times=1)
    else:
        best = decision.best
        keep(turn, best.meaning, best.words, decision.grounds_for(best.meaning), clip, asked="")


def _decided_elsewhere(turn: Turn, meaning: Meaning) -> str:
    """The title of another step that the answer corrected here has decided something by; "" where it has not.

    What was made by *done* is made anew only there, so that the steps in between are asked for what it changes.
    """
    step = turn.state.procedure.step(step_of(turn.state, meaning))
    names = {r.name for r in meaning.readings}
    decides = any(c.makes for r in step.readings if r.name in names for c in r.choices)
    return step.title if decides and step.id != turn.step.id else ""


def _ask(turn: Turn, decision: Decision, clip: str, times: int) -> None:
    """Put the doubt: a yes, which of two, or digit by digit; after three times it is left alone."""
    options = tuple(w.meaning for w in decision.options)
    before = turn.state.talk.question
    after = before.after if before else turn.state.talk.phase
    if times > ASK_AT_MOST:
        settle(turn)
        turn.record(e.HeardUnclear(turn.step.id, ASKED_TOO_OFTEN, decision.weighed), clip)
        return
    kind = decision.ask if times == 1 and decision.ask != "none" else "digits"
    if before and before.kind == "digits":
        kind = "affirm"  # said digit by digit and still in doubt: a yes settles it
    if kind == "choose" and (len(options) < 2 or not options[1].readings):
        kind = "affirm"
    question = Question(
        kind,
        options[:2],
        decision.best.words,
        decision.grounds_for(decision.best.meaning),
        clip,
        times=times,
        after=after,
        evidence=_of_values(decision.evidence),
        denied=before.denied if before else frozenset(),
    )
    turn.talk(phase="question", question=question)
    put_question(turn, question)


def _of_values(evidence: Evidence[Meaning]) -> Evidence[Meaning]:
    """What is added to the value that answers: that it was no command is known by then."""
    return replace(evidence, ranked=tuple(w for w in evidence.ranked if w.meaning.readings))


def settle(turn: Turn) -> None:
    """The question is over: what it interrupted goes on."""
    question = turn.state.talk.question
    turn.talk(phase=question.after if question else "step", question=None)


def put_question(turn: Turn, question: Question) -> None:
    """Say the open question."""
    regime = turn.state.site.read_back
    if question.kind == "affirm":
        turn.say(question_affirm(question.options[0], regime, turn.language), "question")
    elif question.kind == "choose":
        turn.say(question_choose(question.options[0], question.options[1], regime, turn.language), "question")
    else:
        turn.say(turn.words("digits?"), "question")


def answer_with_value(turn: Turn, decision: Decision, clip: str) -> None:
    """A value was said where a question was open: it settles the question when it is sure or one of the two."""
    question = turn.state.talk.question
    assert question is not None
    meaning = decision.best.meaning
    chosen = question.kind == "choose" and settles(decision.options, question.options)
    if decision.ask == "none" or chosen:
        settle(turn)
        asked = SAID_AGAIN if question.kind == "affirm" else question.kind
        keep(turn, meaning, decision.best.words, decision.grounds_for(meaning), clip, asked=asked)
        return
    _ask(turn, decision, clip, times=question.times + 1)


def affirm_value(turn: Turn) -> None:
    """*Affirm* to a question about a value."""
    question = turn.state.talk.question
    assert question is not None
    if question.kind != "affirm":
        turn.say(turn.words("say the value"), "question")
        return
    settle(turn)
    keep(turn, question.options[0], question.words, question.grounds, question.clip, asked="affirm")


def deny_value(turn: Turn) -> None:
    """*Negative* to a question about a value: only its sound is kept, and it is asked for digit by digit.

    What was read out is denied: of an *affirm?* the first option alone, not the rival beside it.
    """
    question = turn.state.talk.question
    assert question is not None
    if question.kind == "digits":
        put_question(turn, question)  # nothing was read out that could be denied
        return
    denied = question.denied | {*question.options[: 2 if question.kind == "choose" else 1]}
    heard = question.evidence
    commands = {w.meaning for w in heard.ranked if not w.meaning.readings} if heard else frozenset()
    rest = without(heard, denied | commands) if heard else None  # a value was meant: that much is known now
    turn.talk(question=replace(question, kind="digits", times=question.times + 1, evidence=rest, denied=denied))
    turn.record(e.HeardUnclear(turn.step.id, DENIED, question.grounds.weighed), question.clip)


def keep(turn: Turn, meaning: Meaning, words: str, grounds: Grounds, clip: str, asked: str) -> None:
    """Have each reading of the meaning recorded. A correction takes the place of the last reading."""
    step_id = step_of(turn.state, meaning)
    turn.talk(keeping=len(meaning.readings))
    verdicts = verdicts_on(turn.state, step_id, meaning.readings)
    for r, verdict in zip(meaning.readings, verdicts, strict=True):
        replaces, why = _replaces(turn, step_id, meaning, r)
        entry = e.ReadingKept(
            step=step_id,
            name=r.name,
            at=r.place,
            words=words,
            value=value_text(r.value),
            unit=r.unit,
            said_unit=r.said_unit,
            said_value=value_text(r.said_value),
            verdict=verdict.word,
            limit=verdict.written_limit,
            weighed=grounds.weighed,
            asked=asked,
            replaces=replaces,
            why=why,
            sureness=grounds.sureness,
            rule=grounds.rule,
            rivals=grounds.rivals,
        )
        turn.record(entry, clip)


def _replaces(turn: Turn, step_id: str, meaning: Meaning, r: SpokenReading) -> tuple[int, str]:
    """What the value takes the place of: the one kept there, or by *correction* the last one, wherever that was."""
    there = turn.state.job.readings.get((step_id, r.name, r.place))
    last = to_correct(turn.state)
    if meaning.correction and last is not None:
        return (there or last).sequence, "correction"
    return (there.sequence, "said again") if there else (0, "")


def reading_recorded(turn: Turn, entry: e.ReadingKept) -> None:
    """It is on disk: read it back with its verdict, and go on."""
    r = _as_spoken(turn, entry)
    spoken = verdict_on(turn.state, entry.step, r)
    value = value_aloud(r, turn.state.site.read_back, turn.language)
    place = place_aloud(entry.at, turn.language)
    name = turn.state.reading(entry.step, entry.name).spoken_name
    margin = spoken.spoken_margin
    verdict = verdict_aloud(
        spoken.word, spoken.spoken_limit, number=bool(r.unit), margin=margin, language=turn.language
    )
    if entry.why == JUDGED_AGAIN:
        turn.say(turn.words("judged again", value=f"{place or name}, {value}", verdict=verdict), "read back again")
    else:
        elsewhere = name if entry.replaces and entry.step != turn.state.job.step else ""
        value = ", ".join(filter(None, (elsewhere, place, value)))
        value = turn.words("correction", value=value) if entry.replaces else value
        said = (turn.words("read back", value=value, verdict=verdict), _finding_aloud(turn, entry))
        turn.say(" ".join(filter(None, said)), "read back")
        judge_again(turn, entry)
    turn.talk(keeping=turn.state.talk.keeping - 1)
    if turn.state.talk.keeping > 0:
        return
    if entry.step == turn.state.job.step and turn.state.talk.phase == "step":
        go_on(turn)
    else:
        put_again(turn)


def _finding_aloud(turn: Turn, entry: e.ReadingKept) -> str:
    """What goes to the customer with this value; in the report it is found again from the value and the procedure."""
    finding = turn.state.reading(entry.step, entry.name).finding
    if finding is None or entry.verdict not in BAD:
        return ""
    return turn.words("finding price later" if finding.price_later else "finding", finding=finding.say)


def judge_again(turn: Turn, changed: e.ReadingKept) -> None:
    """A value that others are judged by has changed: those whose verdict is no longer true are recorded anew."""
    for kept in turn.state.job.readings.values():
        entry = kept.entry
        if not isinstance(entry, e.ReadingKept) or entry == changed or not _depends(turn, entry, changed):
            continue
        now = verdict_on(turn.state, entry.step, _as_spoken(turn, entry))
        if now.word in ("within", "low", "high") and now.word != entry.verdict:
            turn.talk(keeping=turn.state.talk.keeping + 1)
            again = replace(entry, verdict=now.word, limit=now.written_limit)
            turn.record(replace(again, replaces=kept.sequence, why=JUDGED_AGAIN))


def _depends(turn: Turn, entry: e.ReadingKept, changed: e.ReadingKept) -> bool:
    """Is `entry` judged by `changed`: as one of its set, as what it must equal or is compared with, or by a computation."""
    limits = turn.state.reading(entry.step, entry.name).limits
    same_reading = (entry.step, entry.name) == (changed.step, changed.name)
    return any(judged_by(limit, changed.name, same_reading=same_reading) for limit in limits)


def _as_spoken(turn: Turn, entry: e.ReadingKept) -> SpokenReading:
    kind = turn.state.reading(entry.step, entry.name).kind
    each, at = entry.at.partition(" ")[0], position_in(entry.at)
    if not entry.unit:
        return SpokenReading(entry.name, each, at, entry.value, "", entry.value, "", kind)
    value, said = Decimal(entry.value), Decimal(entry.said_value)
    return SpokenReading(entry.name, each, at, value, entry.unit, said, entry.said_unit, kind)


def read_back_step(turn: Turn) -> None:
    """*Read back*: what is kept for this step."""
    own = [k.entry for (step, _, _), k in turn.state.job.readings.items() if step == turn.step.id]
    lines = [_line(turn, entry) for entry in own if isinstance(entry, e.ReadingKept)]
    turn.say("; ".join(lines) + "." if lines else turn.words("nothing kept"), "answer")


def _line(turn: Turn, entry: e.ReadingKept) -> str:
    r = _as_spoken(turn, entry)
    regime, language = turn.state.site.read_back, turn.language
    if isinstance(r.value, str):
        value = value_aloud(r, language=language)
    else:
        value = amount_aloud(rounded(r.value), r.unit, regime, language)
    return ", ".join(filter(None, (place_aloud(entry.at, language) or language.named(entry.name), value)))
