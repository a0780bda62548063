"""The engine, talked to in words: what each command does in each phase, what is kept when, and what never happens."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core import entries as e
from assistant.core import events as ev
from assistant.core.conditions import UNSURE, broken
from assistant.core.effects import Finish, Hush, Say, Wake
from assistant.core.engine import advance
from assistant.core.events import Label, Scanned
from assistant.core.expected import expectation_of
from assistant.core.job import Job, apply, fold
from assistant.core.procedure import Never
from assistant.core.speech import commands
from assistant.core.speech.calibration import CALIBRATIONS
from assistant.files.work import Work, read_work
from tests.conversation import SHORT, TABLES, Conversation, short, take
from tests.strategies import happen, happenings, help_on

FILTER, WASHER = Label("EAN-13", "2990001000117"), Label("CODE-128", "T3-1142")
STALE = Label("GS1-128", "010299000100011717260630")
UNKNOWN_PART = Label("CODE-128", "T3-9999")


def at(step: str) -> Conversation:
    """The short job with that step just read."""
    bay = short()
    while bay.job.step != step or bay.state.talk.phase in ("condition", "caution"):
        help_on(bay, (185,) * 12)
    return bay


SO_SO = take("vosk", ("one eighteen", 0.6), ("stop", 0.4), gap=-1.0)
"""An ear in doubt about the one value it thought of: whatever its scores are worth, the question is *affirm?*."""
EITHER = take("vosk", ("one eighteen", 0.55), ("one eighty", 0.45))
"""An ear in doubt between two values: the question is which."""


def doubtful(bay: Conversation) -> Conversation:
    """One eighteen may be something else: a question is open."""
    bay.hear_takes(SO_SO)
    assert bay.state.talk.question is not None
    return bay


def told(bay: Conversation, words: str) -> Conversation:
    bay.hear(words)
    return bay


def at_the_end() -> Conversation:
    bay = short()
    while not bay.finished:
        help_on(bay, (185,) * 12)
    return bay


def _asked_back(bay: Conversation) -> Conversation:
    bay.commit(e.QuestionAsked(0, "was it warm?", "Ada"))
    return bay.resumed()


PHASES: dict[str, Callable[[], Conversation]] = {
    "condition": lambda: told(short(), "twenty four"),
    "caution": lambda: told(told(short(), "twenty four"), "affirm"),
    "step": lambda: at("start"),
    "question": lambda: doubtful(at("compression")),
    "asked back": lambda: _asked_back(at("start")),
    "remark": lambda: told(at("start"), "note"),
    "counting": lambda: told(at("fog"), "go ahead"),
    "scanning": lambda: told(at("filter"), "part"),
    "standing by": lambda: told(at("start"), "stand by"),
    "finished": at_the_end,
}


SAID_AT_ONCE = {
    "condition": {
        "say again": "Before Start: door must be open",
        "where are we": "Step 2 of 10, Start.",
        "stand by": "Standing by.",
        "stop": "",
        "affirm": "Caution. Hair and sleeves away from the belt.",
        "negative": "I wait.",
        "roger": "Roger is not yes. Say affirm, or negative.",
        "go back": "Count the tools.",
        "unable": "Unable. Say the reason.",
        "correction": "Say correction and the right value.",
    },
    "caution": {
        "say again": "Caution. Hair and sleeves",
        "where are we": "Step 2 of 10, Start.",
        "stand by": "Standing by.",
        "stop": "",
        "roger": "Caution. Fumes.",
        "go back": "Count the tools.",
        "unable": "Unable. Say the reason.",
        "note": "Go ahead with the note.",
        "finding": "Go ahead with the finding.",
        "correction": "Say correction and the right value.",
    },
    "step": {
        "say again": "Start the engine.",
        "where are we": "Step 2 of 10, Start. Nothing is missing. Say done.",
        "stand by": "Standing by.",
        "stop": "",
        "read back": "Nothing is kept for this step.",
        "limits": "No limits are set for this step.",
        "disregard": "Disregarded.",
        "correction": "Say correction and the right value.",
        "words twice": "Words twice.",
        "done": "Open the tap.",
        "go back": "Count the tools.",
        "unable": "Unable. Say the reason.",
        "note": "Go ahead with the note.",
        "finding": "Go ahead with the finding.",
        "part": "Looking.",
        "affirm": "Nothing was asked.",
        "negative": "Nothing was asked.",
        "roger": "",
    },
    "question": {
        "say again": "cylinder one, one one eight P S I. Affirm?",
        "where are we": "Step 6 of 10, Compression. Missing: compression cylinder one, ",
        "stand by": "Standing by.",
        "stop": "",
        "limits": "compression, from one seven five to two one five P S I",
        "affirm": "cylinder one, one one eight P S I, low",
        "negative": "Not kept. Say it digit by digit.",
        "roger": "Roger is not yes.",
        "disregard": "Disregarded.",
        "correction": "Say correction and the right value.",
        "unable": "Unable. Say the reason.",
        "go back": "Stop the engine.",
    },
    "asked back": {
        "say again": "The foreman asks: was it warm? Say your answer",
        "stand by": "Standing by.",
        "disregard": "Left for later.",
    },
    "remark": {"disregard": "Disregarded."},
    "counting": {
        "say again": "Now.",
        "where are we": "Step 9 of 10, Fogging.",
        "stand by": "Standing by.",
        "stop": "Stopped at zero. It does not count.",
    },
    "scanning": {
        "say again": "Looking.",
        "where are we": "Step 8 of 10, Filter.",
        "stand by": "Standing by.",
        "stop": "",
    },
    "standing by": {"go ahead": "Listening."},
    "finished": {},
}
"""Phase -> command -> how the answer begins ("" for none). What is not here is refused."""


def every_case() -> list[tuple[str, str]]:
    return [(phase, c.name) for phase in PHASES for c in commands.ALL]


@pytest.mark.parametrize(("phase", "command"), every_case())
def test_what_a_command_does_in_a_phase(phase: str, command: str) -> None:
    """Every command in every phase: it does what it says, or nothing of the job moves."""
    bay = PHASES[phase]()
    before = bay.job
    said = bay.hear(command)
    if command in SAID_AT_ONCE[phase]:
        start = SAID_AT_ONCE[phase][command]
        assert said[0].startswith(start) if start else not said
    elif phase == "remark":
        assert said == ["Note kept."]
    elif phase == "asked back":
        assert said[0] == "Answer kept."
    elif phase in ("standing by", "finished"):
        assert not said
        assert bay.job == before
    else:
        assert said[0].startswith("Say again.")
        assert isinstance(bay.kept[-1].entry, e.HeardUnclear)
        assert bay.job.step == before.step
        assert bay.job.readings == before.readings


@pytest.mark.parametrize("phase", PHASES)
def test_each_phase_is_the_one_it_is_called(phase: str) -> None:
    """The table's own phases."""
    assert PHASES[phase]().state.talk.phase == phase


@pytest.mark.parametrize("phase", PHASES)
def test_an_event_that_cannot_be_changes_nothing(phase: str) -> None:
    """A label nobody looked for, a second nobody counts, speech that ended: state and effects stay as they are."""
    bay = PHASES[phase]()
    illegal: list[ev.Event] = [ev.HeardEarly(bay.now_s, ("done",)), ev.SpeechDone(bay.now_s, 0)]
    if phase != "counting":
        illegal.append(ev.Tick(bay.now_s))
    if phase != "scanning":
        illegal.append(Scanned(bay.now_s, (FILTER,)))
    for event in illegal:
        assert advance(bay.state, event) == (bay.state, ())


def test_nothing_is_heard_before_the_start_nor_after_the_end() -> None:
    """Sound that comes too early or too late moves nothing."""
    bay = PHASES["finished"]()
    heard = ev.Heard(0.0, "clip", (take("vosk", ("done", 1.0)),))
    assert advance(bay.state, heard) == (bay.state, ())


# Cautions and conditions


def test_a_caution_needs_roger() -> None:
    """*Affirm*, *done* or a value are no answer to a caution: the step is not read."""
    bay = PHASES["caution"]()
    for words in ("affirm", "done", "twenty four"):
        assert "Start the engine." not in bay.hear(words)
    assert bay.state.talk.phase == "caution"
    assert bay.say_all("roger", "roger") == ["Start the engine."]
    assert [c.caution for c in bay.entries(e.CautionAnswered)] == list(bay.state.procedure.step("start").cautions)


def test_cautions_are_said_again_when_the_step_is_opened_again() -> None:
    """Going back and forth does not spare them."""
    bay = at("start")
    bay.hear("go back")
    assert bay.hear("done")[-1].startswith("Caution. Hair")


def test_a_condition_that_is_not_so_is_waited_for() -> None:
    """*Negative* keeps the step closed; *affirm* makes it so, on record."""
    bay = PHASES["condition"]()
    assert bay.hear("negative") == ["I wait. Affirm when it is so, or say unable."]
    assert bay.job.conditions["door"] == UNSURE
    bay.hear("affirm")
    assert bay.job.conditions["door"] == "open"
    assert bay.entries(e.ConditionAffirmed) == [e.ConditionAffirmed("start", "door", "open")]


def with_never(condition: str, value: str) -> Conversation:
    """The short job, begun under one rule only, which its own steps would break."""
    rule = Never({condition: value}, "It must not.")
    shut = {**SHORT.procedure.start, "door": "closed"}
    ruled = replace(SHORT.procedure, never=(rule,), start=shut)
    return Conversation(ruled, dict(SHORT.sheet.parts), SHORT.site).start()


def test_what_must_never_be_is_refused() -> None:
    """*Affirm* and *done* are both refused where they would make it so, and nothing is kept."""
    bay = told(with_never("door", "open"), "twenty four")
    assert bay.hear("affirm") == ["That must not be. It must not."]
    assert not bay.entries(e.ConditionAffirmed)
    bay = with_never("engine", "running")
    assert bay.say_all("twenty four", "affirm", "roger", "roger", "done") == ["Not kept. It must not."]
    assert bay.job.conditions["engine"] == "stopped"


def test_unable_leaves_unsure_what_may_be_half_done() -> None:
    """The reason is kept; what the step makes is in doubt if it had been read, untouched if not."""
    bay = at("start")
    assert bay.hear("unable") == ["Unable. Say the reason."]
    bay.hear("the starter is flat")
    assert bay.entries(e.StepUnable) == [e.StepUnable("start", "the starter is flat", ("engine",))]
    assert bay.job.conditions["engine"] == UNSURE
    assert bay.job.status["start"] == "unable"
    unread = PHASES["condition"]()
    unread.say_all("unable", "no key")
    assert unread.job.conditions["engine"] == "stopped"


def test_a_reason_that_no_ear_can_write_down_is_kept_in_sound() -> None:
    """Without words the record points to the clip."""
    bay = at("start")
    bay.hear("unable")
    bay.hear_takes(take("vosk"))
    assert bay.entries(e.StepUnable)[0].body()["reason"] == "(in sound)"


def test_go_back_opens_the_step_before_and_keeps_its_readings() -> None:
    """What was kept stays kept; at the first step there is nothing before."""
    bay = PHASES["condition"]()
    assert bay.hear("go back") == ["Count the tools.", "All of it is kept. Say done, read back, or correction."]
    assert bay.hear("read back") == ["tools out, two four."]
    assert bay.hear("go back") == ["This is the first step."]
    assert bay.hear("done")[0].startswith("Before Start")


def test_going_back_leaves_the_step_in_doubt() -> None:
    """A step that was read and then left by *go back* may be half done."""
    bay = at("water_on")
    bay.hear("go back")
    assert bay.job.conditions["water"] == UNSURE
    assert bay.entries(e.StepOpened)[-1] == e.StepOpened("start", ("water",))


def test_done_is_refused_while_something_is_missing() -> None:
    """It says what."""
    bay = at("compression")
    bay.hear("one ninety")
    assert bay.hear("done") == ["Not yet. Missing: compression cylinder two and compression cylinder three."]


# Readings


def kept_values(bay: Conversation, step: str) -> dict[str, str]:
    found = {}
    for (of, name, place), k in bay.job.readings.items():
        if of == step and isinstance(k.entry, e.ReadingKept):
            found[place or name] = k.entry.value
    return found


def test_a_correction_replaces_the_last_reading() -> None:
    """Same place: the new entry names the old one, both stand in the file."""
    bay = at("compression")
    bay.say_all("one eighteen", "correction cylinder one one eighty")
    assert kept_values(bay, "compression") == {"cylinder 1": "180"}
    first, second = bay.entries(e.ReadingKept)[-2:]
    assert isinstance(second, e.ReadingKept)
    assert bay.kept[second.replaces - 1].entry == first
    assert second.why == "correction"


def test_a_correction_to_another_place_moves_the_reading() -> None:
    """The wrong cylinder was named: its value goes, and is asked for again."""
    bay = at("compression")
    bay.hear("cylinder two one ninety")
    assert bay.hear("correction cylinder three one ninety")[-1] == "Compression, cylinder one?"
    assert kept_values(bay, "compression") == {"cylinder 3": "190"}


def test_a_correction_twice_replaces_the_correction() -> None:
    """Each names the one before it."""
    bay = at("compression")
    bay.say_all("one seventy eight", "correction one eighty", "correction one eighty two")
    chain = [x.replaces for x in bay.entries(e.ReadingKept)[-3:] if isinstance(x, e.ReadingKept)]
    last = len(bay.kept)
    assert chain == [0, last - 2, last - 1]
    assert kept_values(bay, "compression") == {"cylinder 1": "182"}


def test_a_correction_comes_in_time_after_the_step_has_moved_on() -> None:
    """The last reading was in the step before: it is corrected there, and the open step stays open."""
    bay = at("start")
    said = bay.hear("correction twenty five")
    assert said == ["Correction, number, two five, kept."]
    assert kept_values(bay, "tools_out") == {"tools_out": "25"}
    assert (bay.job.step, bay.state.talk.phase) == ("start", "step")


@pytest.mark.parametrize("phase", ["condition", "caution"])
def test_a_correction_comes_in_time_before_the_next_step_is_read(phase: str) -> None:
    """The read-back was wrong and the next step's condition or caution is open: it is corrected, and put again."""
    bay = PHASES[phase]()
    waiting = bay.said[-1]
    assert bay.hear("correction twenty five") == ["Correction, number, two five, kept.", waiting]
    assert kept_values(bay, "tools_out") == {"tools_out": "25"}
    assert (bay.job.step, bay.state.talk.phase) == ("start", phase)


@pytest.mark.parametrize("answer", ["affirm", "disregard", "negative"])
def test_a_doubtful_correction_does_not_skip_the_caution(answer: str) -> None:
    """The question it raises is settled, and then the caution still wants its roger."""
    bay = PHASES["caution"]()
    caution = bay.said[-1]
    bay.hear_takes(take("vosk", ("correction fifteen", 0.6), ("correction fifty", 0.4)))
    assert bay.state.talk.phase == "question"
    then = {"affirm": ["correction one five"], "negative": ["correction one six"], "disregard": []}
    bay.say_all(answer, *then[answer])
    assert bay.said[-1] == caution
    assert bay.state.talk.phase == "caution"


def test_a_value_said_again_replaces_it() -> None:
    """Its place is said, so no *correction* is needed; the record says why."""
    bay = at("compression")
    bay.say_all("cylinder one one eighty", "cylinder one one eighty two")
    assert bay.entries(e.ReadingKept)[-1].body()["why"] == "said again"
    assert kept_values(bay, "compression") == {"cylinder 1": "182"}


def test_correction_with_nothing_to_correct() -> None:
    """It says so."""
    assert short().hear("correction") == ["There is nothing to correct."]


def test_several_readings_in_one_breath() -> None:
    """All are kept, each read back, and the next is asked for once."""
    bay = at("compression")
    said = bay.hear("cylinder one one ninety cylinder three one eighty five")
    assert said == [
        "cylinder one, one niner zero P S I, within limits.",
        "cylinder three, one eight five P S I, within limits.",
        "Compression, cylinder two?",
    ]


def test_the_spread_is_judged_when_the_set_is_whole() -> None:
    """Each is within by itself; the last one shows that the lowest is too far below the highest, and which it is."""
    bay = at("compression")
    said = bay.say_all("one seventy eight", "two ten", "two hundred")
    not_as = "not as it should be; the spread is too wide, the lowest is cylinder one."
    assert said[0] == f"cylinder three, two zero zero P S I, {not_as}"
    assert said[-1] == "Say done, or correction."
    assert [x.body()["verdict"] for x in bay.entries(e.ReadingKept)[-4:]] == ["within", "within", "outside", "low"]
    assert said[1].startswith("With that, cylinder one, one seven eight P S I, is low")


def test_a_spread_broken_in_one_breath_is_no_better_than_one_by_one() -> None:
    """The same values in one utterance get the same verdicts, and the step does not close by itself."""
    apart, breath = at("compression"), at("compression")
    apart.say_all("cylinder one two ten", "cylinder two two ten", "cylinder three one eighty")
    breath.hear("cylinder one two ten cylinder two two ten cylinder three one eighty")
    verdicts = [[x.body()["verdict"] for x in bay.entries(e.ReadingKept)[-3:]] for bay in (apart, breath)]
    assert verdicts[0] == verdicts[1] == ["within", "within", "low"]
    assert breath.job.step == "compression"


def test_correction_in_a_question_means_the_value_that_is_asked_about() -> None:
    """It does not replace what was kept before, at another cylinder."""
    bay = at("compression")
    bay.hear("cylinder one one ninety")
    [which] = bay.hear_takes(
        take("vosk", ("cylinder two one eighty", 0.99)), take("whisper", ("cylinder two one eighteen", 0.99))
    )
    assert "cylinder two" in which
    bay.hear("negative")
    bay.hear("correction one eight zero")
    if bay.state.talk.phase == "question":
        bay.hear("affirm")
    assert kept_values(bay, "compression") == {"cylinder 1": "190", "cylinder 2": "180"}


def test_a_value_that_is_not_plausible_is_never_within_limits() -> None:
    """Affirmed, it is kept; that it cannot be is told, and stands in the file."""
    bay = at("compression")
    [asked] = bay.hear("one niner zero zero")
    assert asked.endswith("Affirm?")
    bay.hear("affirm")
    assert bay.entries(e.ReadingKept)[-1].body()["verdict"] in ("high", "outside")


def test_a_verdict_that_is_no_longer_true_is_recorded_anew() -> None:
    """The lowest is mended, and the one that was out beside it is within again; a count that others must equal changes them."""
    bay = at("compression")
    bay.say_all("one eighty", "two ten", "one seventy eight", "cylinder two one ninety five")
    kept = {
        k.entry.at: k.entry.verdict
        for k in bay.job.readings.values()
        if isinstance(k.entry, e.ReadingKept) and k.entry.at
    }
    assert kept == {"cylinder 1": "within", "cylinder 2": "within", "cylinder 3": "within"}
    again = [x for x in bay.entries(e.ReadingKept) if isinstance(x, e.ReadingKept) and x.why == "judged again"]
    assert again
    assert all(bay.kept[x.replaces - 1].entry.body()["value"] == x.value for x in again)


def test_correction_after_going_back_means_the_step_that_is_open() -> None:
    """Not the reading that was kept last, which belongs to a later step."""
    bay = at("compression")
    earlier = dict(kept_values(bay, "tools_out"))
    while bay.job.step != "tools_out":
        bay.hear("go back")
    bay.say_all("affirm", "roger", "roger")
    bay.hear("correction twenty six")
    assert kept_values(bay, "tools_out") == {**earlier, "tools_out": "26"}


def test_say_again_is_the_question_and_not_say_again() -> None:
    """Not understood twice, the technician asks what was said: he hears the question."""
    bay = at("compression")
    question = bay.said[-1]
    bay.say_all("purple", "purple")
    assert bay.hear("say again")[-1] == question


def test_stop_that_was_obeyed_early_is_not_obeyed_twice() -> None:
    """The utterance ends after its *stop* was obeyed: the answer to it is not hushed."""
    bay = told(at("fog"), "go ahead")
    bay.send(ev.HeardEarly(bay.now_s, ("stop",)))
    before = len(bay.effects)
    assert bay.hear("stop") == []
    assert not [effect for effect in bay.effects[before:] if isinstance(effect, Hush)]


def test_a_packet_that_was_shown_leaves_an_entry() -> None:
    """Neither *disregard* nor another answer makes an unknown part vanish from the record."""
    bay = at("filter")
    bay.scan(UNKNOWN_PART)
    bay.hear("disregard")
    assert [x.body()["kept"] for x in bay.entries(e.PartScanned)] == [False]


def test_a_count_must_be_the_same_as_before() -> None:
    """A tool that did not come back is heard of at once."""
    bay = at("tools_back")
    assert bay.hear("one eighty four")[0].startswith("Say again.")
    assert bay.hear("eighty four")[0] == "eight four, low; the same as tools out."
    assert bay.hear("correction eighty five")[0] == "Correction, eight five, within limits."


def test_words_twice() -> None:
    """The same twice is kept once; two values lead to the question which, and naming one settles it; said again, it is over."""
    bay = at("compression")
    bay.hear("words twice")
    assert bay.hear("one ninety") == ["Again."]
    assert bay.hear("one niner zero")[0] == "cylinder one, one niner zero P S I, within limits."
    bay.hear("one eighty five")
    [which] = bay.hear("one seventy five")
    assert "one eight five" in which
    assert "one seven five" in which
    assert "or, " in which
    assert kept_values(bay, "compression") == {"cylinder 1": "190"}
    assert bay.hear("one seventy five")[0].startswith("cylinder two, one seven five")
    assert bay.entries(e.ReadingKept)[-1].body()["asked"] == "choose"
    assert bay.hear("words twice") == ["Words once."]
    assert bay.hear("one eighty five")[0].startswith("cylinder three, one eight five")


def so_so(best: str, rival: str) -> ev.Take:
    """One ear's take that makes the best 0.99 to the rival's 0.01, whatever a nat of that ear is worth."""
    nats = math.log(0.99 / 0.01) / CALIBRATIONS[frozenset({"vosk"})].of("vosk").scale
    return take("vosk", (best, 0.5), (rival, 0.5 * math.exp(-nats)))


def test_two_sayings_in_doubt_make_one_that_is_sure() -> None:
    """Heard once it would be asked about; the same again, and the two together are kept unasked."""
    bay = at("compression")
    once = bay.copy()
    once.hear_takes(so_so("one ninety", "one eighty"))
    assert kept_values(once, "compression") == {}
    bay.hear("words twice")
    assert bay.hear_takes(so_so("one ninety", "one eighty")) == ["Again."]
    bay.hear_takes(so_so("one niner zero", "one eight zero"))
    assert kept_values(bay, "compression") == {"cylinder 1": "190"}
    assert bay.entries(e.ReadingKept)[-1].body()["asked"] == ""


def test_a_lone_ear_that_is_deaf_to_eighty_is_deaf_to_it_twice() -> None:
    """What sounds like it and would turn the verdict is asked about, however often one ear hears the same."""
    bay = told(at("compression"), "words twice")
    for _ in range(2):
        bay.hear_takes(take("vosk", ("one eighteen", 1.0), gap=0.0))
    assert bay.state.talk.phase == "question"
    assert kept_values(bay, "compression") == {}


@pytest.mark.parametrize("between", ["go back", "note", "stand by"])
def test_a_first_saying_waits_only_in_its_own_step(between: str) -> None:
    """Something came in between: another step does not take the first saying for its own, nor trip over it."""
    bay = at("compression")
    bay.say_all("words twice", "one ninety", between)
    while bay.job.step != "start":
        bay.hear("go ahead" if bay.state.talk.phase == "standing by" else "go back")
    assert bay.state.talk.phase in ("condition", "caution", "step")
    assert bay.hear("correction twenty five") == ["Again."]
    assert bay.hear("correction twenty five")[0].startswith("Correction, ")


# Questions


def test_affirm_keeps_what_was_asked_about() -> None:
    """With the question on record."""
    bay = PHASES["question"]()
    bay.hear("affirm")
    assert kept_values(bay, "compression") == {"cylinder 1": "118"}
    assert bay.entries(e.ReadingKept)[-1].body()["asked"] == "affirm"


def test_a_yes_that_one_ear_took_for_no_keeps_nothing() -> None:
    """The ears differ on the answer: it is asked for again."""
    bay = PHASES["question"]()
    said = bay.hear_takes(take("vosk", ("negative", 0.6), ("affirm", 0.4)), take("whisper", ("affirm", 0.99)))
    assert said == ["Say again. cylinder one, one one eight P S I. Affirm?"]
    assert kept_values(bay, "compression") == {}


def test_negative_asks_digit_by_digit() -> None:
    """Nothing is kept until it is said, but the sound that was denied is; *negative* to that adds nothing."""
    bay = PHASES["question"]()
    assert bay.hear("negative") == ["Not kept. Say it digit by digit."]
    assert bay.hear("negative") == ["Say it digit by digit."]
    assert [x.body()["reason"] for x in bay.entries(e.HeardUnclear)] == ["denied"]
    assert kept_values(bay, "compression") == {}
    bay.hear("one eight zero")
    assert kept_values(bay, "compression") == {"cylinder 1": "180"}
    assert bay.entries(e.ReadingKept)[-1].body()["asked"] == "digits"


def test_a_denied_value_is_never_kept_unasked() -> None:
    """The ears take it for the same again, as sure as can be: it is asked about, and only a yes keeps it."""
    bay = told(doubtful(at("compression")), "negative")
    assert bay.hear("one one eight") == ["cylinder one, one one eight P S I. Affirm?"]
    assert kept_values(bay, "compression") == {}
    bay.hear("affirm")
    assert kept_values(bay, "compression") == {"cylinder 1": "118"}


def test_a_denied_value_is_not_offered_again() -> None:
    """It was one of two, and of two others that are heard then it is none, though it may have been said."""
    bay = at("compression")
    bay.hear_takes(EITHER)
    bay.hear("negative")
    bay.hear_takes(take("vosk", ("one ninety", 0.5), ("one eighty", 0.3), ("one sixty", 0.2)))
    question = bay.state.talk.question
    assert question is not None
    assert [m.readings[0].value for m in question.options] == [190, 160]


def test_the_rival_of_a_denied_value_is_not_denied() -> None:
    """Only what was read out is: the other value that the ear thought of is kept when it is said."""
    bay = at("compression")
    bay.hear_takes(take("vosk", ("one eighteen", 0.6), ("stop", 0.3), ("one eighty", 0.1)))
    question = bay.state.talk.question
    assert question is not None
    assert question.denied == frozenset()
    bay.state = replace(bay.state, talk=replace(bay.state.talk, question=replace(question, kind="affirm")))
    bay.hear("negative")
    bay.hear("one eight zero")
    assert kept_values(bay, "compression") == {"cylinder 1": "180"}


def test_a_choice_is_settled_by_saying_one_of_the_two() -> None:
    """Even by an ear that is not sure; *affirm* settles nothing."""
    bay = at("compression")
    eighty, ninety = ("one eighty", 0.6), ("one ninety", 0.4)
    [said] = bay.hear_takes(take("vosk", eighty, ninety), take("whisper", ("one ninety", 0.6), ("one eighty", 0.4)))
    assert "; or, cylinder one, one " in said
    assert said.endswith("? Say it again.")
    assert bay.hear("affirm") == ["Say the value itself."]
    bay.hear_takes(take("vosk", ("one eighty", 0.95), ("two eighty", 0.05)))
    assert kept_values(bay, "compression") == {"cylinder 1": "180"}
    assert bay.entries(e.ReadingKept)[-1].body()["asked"] == "choose"


def test_another_value_in_answer_is_asked_for_digit_by_digit() -> None:
    """What was heard then and now differs, however sure it is now: nothing is kept before it is said once more."""
    bay = PHASES["question"]()
    assert bay.hear("one eighty") == ["Say it digit by digit."]
    assert kept_values(bay, "compression") == {}
    bay.hear("one eight zero")
    assert kept_values(bay, "compression") == {"cylinder 1": "180"}


def test_the_same_value_in_answer_settles_a_question() -> None:
    """Said again instead of *affirm*: what was heard then and now makes it sure."""
    bay = PHASES["question"]()
    bay.hear("one one eight")
    assert kept_values(bay, "compression") == {"cylinder 1": "118"}
    assert bay.entries(e.ReadingKept)[-1].body()["asked"] == "said again"


def test_after_three_questions_it_is_left_alone() -> None:
    """Then it is on record that nothing was kept, and the step waits."""
    bay = at("compression")
    pairs = (
        ("one eighteen", "one eighty"),
        ("one ten", "one ninety"),
        ("two ten", "one oh five"),
        ("one oh eight", "two"),
    )
    for one, two in pairs:
        said = bay.hear_takes(take("vosk", (one, 0.5)), take("whisper", (two, 0.5)))
        assert kept_values(bay, "compression") == {}
    assert said == ["Not kept. Measure again, then say it anew."]
    assert bay.entries(e.HeardUnclear)[-1].body()["reason"] == "asked three times"
    assert kept_values(bay, "compression") == {}
    assert bay.state.talk.phase == "step"


def test_a_question_is_put_again_when_it_is_not_answered() -> None:
    """Unclear: the question comes again; after two times the assistant waits quietly."""
    bay = PHASES["question"]()
    garbage = take("vosk")
    assert bay.hear_takes(garbage) == ["Say again. cylinder one, one one eight P S I. Affirm?"]
    assert len(bay.hear_takes(garbage)) == 1
    assert bay.hear_takes(garbage) == []


# Last season


def last_season(value: str, unit: str = "psi") -> Conversation:
    """At the compression step of a machine that had this in cylinder one."""
    earlier = (("compression", "compression", "cylinder 1", value, unit),)
    bay = Conversation(SHORT.procedure, dict(SHORT.sheet.parts), SHORT.site, earlier).start()
    while bay.job.step != "compression" or bay.state.talk.phase in ("condition", "caution"):
        help_on(bay, (185,) * 12)
    return bay


FOUR_EARS = (replace(take("text", ("one fifty", 1.0), ("one fifteen", 1e-20)), certain=True),) * 4
"""All as sure as they can be, and yet they thought of another value: both would be low."""


@pytest.mark.parametrize(
    ("before", "asked"),
    [
        (("115", "psi"), True),
        (("7.93", "bar"), True),  # 115 psi; NIST SP 811 (2008), appendix B.8: 1 psi = 6.894 757 kPa
        (("150", "psi"), False),
        (("185", "psi"), False),
        (("115", "V"), False),
    ],
)
def test_a_surprise_is_asked_about(before: tuple[str, str], asked: bool) -> None:
    """Far from last season's value, while that may have been said after all: asked, however sure; else it is kept."""
    bay = last_season(*before)
    bay.hear_takes(*FOUR_EARS)
    assert (bay.state.talk.phase == "question") == asked
    assert kept_values(bay, "compression") == ({} if asked else {"cylinder 1": "150"})


def test_last_season_is_known_after_a_resume() -> None:
    """It stands in the job's first entry."""
    bay = last_season("115")
    assert bay.resumed().job.earlier == bay.job.earlier != {}


# Parts


@pytest.mark.parametrize(
    ("label", "said", "kept"),
    [
        (FILTER, "Oil filter, that fits.", True),
        (WASHER, "Wrong part: that is the drain plug washer. I want the oil filter. Not kept.", False),
        (STALE, "Oil filter, but past its date, June 2026. Not kept.", False),
        (Label("EAN-13", "2990001000118"), "I can't trust that label", None),
    ],
)
def test_a_part_is_checked(label: Label, said: str, kept: bool | None) -> None:
    """Right, wrong, past its date, or a label that cannot be: each is on record, only the right one is taken."""
    bay = at("filter")
    assert bay.scan(label)[0].startswith(said)
    found = [x.kept for x in bay.entries(e.PartScanned) if isinstance(x, e.PartScanned)]
    assert found == ([] if kept is None else [kept])
    assert len(bay.job.parts) == (1 if kept else 0)


@pytest.mark.parametrize(("answer", "kept"), [("affirm", True), ("negative", False)])
def test_an_unknown_part_is_asked_about(answer: str, kept: bool) -> None:
    """*Affirm* takes it as not known, *negative* does not; that it was shown is on record both times."""
    bay = at("filter")
    assert bay.scan(UNKNOWN_PART)[0].endswith("Affirm to take it all the same, or negative.")
    assert bay.hear("roger") == ["Roger is not yes. Say affirm, or negative."]
    bay.hear(answer)
    entry = bay.entries(e.PartScanned)[-1]
    assert isinstance(entry, e.PartScanned)
    assert (entry.answer, entry.kept) == ("not known", kept)


def test_the_best_of_several_labels_counts() -> None:
    """A packet carries its maker's number and ours."""
    bay = at("filter")
    assert bay.scan(UNKNOWN_PART, WASHER, FILTER)[0] == "Oil filter, that fits."


def test_the_step_wants_as_many_as_the_sheet_says() -> None:
    """Two washers, then it is done; the second has the same label, and must be affirmed to be another one."""
    bay = at("filter")
    bay.scan(FILTER)
    assert bay.scan(WASHER) == [
        "Drain plug washer, that fits. One of two.",
        "Say part, and show the drain plug washer.",
    ]
    assert bay.scan(WASHER) == [
        "Drain plug washer, the same label as one before. Affirm that it is another one, or negative."
    ]
    assert bay.hear("affirm")[:2] == ["Drain plug washer, another one. Two of two.", "Spray while I count."]


def test_a_packet_with_a_serial_counts_once() -> None:
    """The same one shown twice is already used."""
    bay = at("filter")
    label = Label("GS1-128", "010299000100011721000731")
    bay.scan(label)
    bay.hear("go back")
    again = at("filter")
    again.scan(label)
    used = again.job.used
    assert used == {"02990001000117/000731"}


def test_no_label_or_no_camera() -> None:
    """It says so, and the step goes on."""
    bay = at("filter")
    assert bay.scan() == ["I see no label. Say part to try again, or part number and spell it."]
    bay.hear("part")
    trouble = bay.send(Scanned(0.0, (), trouble="There is no camera 0."))
    assert trouble == ["There is no camera 0. Say part to try again, or part number and spell it."]
    assert bay.state.talk.phase == "step"


def test_a_part_where_none_is_wanted_is_only_named() -> None:
    """Nothing is kept of it."""
    bay = at("start")
    assert bay.scan(WASHER) == ["That is the drain plug washer. This step wants none."]
    assert not bay.entries(e.PartScanned)


# Counting


def test_seconds_are_counted_aloud() -> None:
    """From *go ahead*, one a second, to the end in words; then it is on record."""
    bay = at("fog")
    assert bay.hear("go ahead") == ["Now."]
    assert bay.wait(1.5) == ["one"]
    assert bay.wait(1.0) == ["two"]
    assert bay.wait(1.0)[:2] == ["Stop.", "Counted."]
    assert bay.entries(e.Counted) == [e.Counted("fog", 3)]
    assert bay.job.step == "tools_back"


@pytest.mark.parametrize("how", ["heard", "early"])
def test_stop_breaks_a_count_off(how: str) -> None:
    """At once, also when it is heard before the utterance has ended; it does not count and starts anew."""
    bay = at("fog")
    bay.hear("go ahead")
    bay.wait(1.0)
    said = bay.hear("stop") if how == "heard" else bay.send(ev.HeardEarly(bay.now_s, ("stop",)))
    assert said == ["Stopped at one. It does not count.", "Say go ahead when you are ready."]
    assert isinstance(next(x for x in reversed(bay.effects) if isinstance(x, Hush | Wake)), Hush)
    assert bay.wait(5.0) == []
    assert not bay.entries(e.Counted)
    bay.hear("go ahead")
    assert bay.wait(5.0)[:2] == ["one", "two"]


def test_nothing_to_count() -> None:
    """*Go ahead* is only understood where a count is wanted."""
    assert at("start").hear("go ahead")[0].startswith("Say again.")


# Remarks


@pytest.mark.parametrize("about", ["note", "finding"])
def test_a_remark_is_kept_with_its_words(about: str) -> None:
    """Whatever it says, commands included, and then the step goes on."""
    bay = at("compression")
    bay.hear(about)
    assert bay.hear("the plug is black") == [f"{about.capitalize()} kept."]
    assert bay.entries(e.RemarkKept) == [e.RemarkKept("compression", about, "the plug is black")]
    assert bay.hear("one ninety")[0].startswith("cylinder one")


def test_a_remark_before_a_caution_returns_to_it() -> None:
    """Nothing is skipped by it."""
    bay = PHASES["caution"]()
    bay.say_all("note", "it smells of fuel")
    assert bay.state.talk.phase == "caution"
    assert bay.hear("roger") == ["Caution. Fumes. Door open. Roger?"]


# Standing by


@pytest.mark.parametrize("phase", ["condition", "caution", "step", "question", "counting", "scanning"])
def test_after_a_stand_by_the_job_goes_on(phase: str) -> None:
    """Talk in between is ignored; then what was open is put again, a count or a look is started anew."""
    bay = PHASES[phase]()
    open_step, text = bay.job.step, bay.said[-1]
    bay.hear("stand by")
    assert bay.say_all("done", "affirm", "one ninety") == []
    bay.send(Scanned(bay.now_s, (FILTER,)))
    bay.wait(5.0)
    said = bay.hear("go ahead")
    assert said[0] == "Listening."
    assert bay.job.step == open_step
    assert bay.state.talk.phase == (phase if phase not in ("counting", "scanning") else "step")
    if phase in ("condition", "caution", "step", "question"):
        assert said[-1] == text


def test_a_part_question_is_put_again_after_a_stand_by() -> None:
    """The same words as before."""
    bay = at("filter")
    question = bay.scan(UNKNOWN_PART)
    bay.hear("stand by")
    assert bay.hear("go ahead") == ["Listening.", *question]


# The disk and the devices


def test_a_full_disk_is_told_and_nothing_is_spoken_as_kept() -> None:
    """Not kept, why, and what to do; once there is room the same words are kept."""
    bay = at("compression")
    bay.disk_full = True
    assert bay.hear("one ninety") == ["Not kept: the disk is full. Make room, then say it again."]
    assert kept_values(bay, "compression") == {}
    assert bay.say_all("done", "note", "worn") == ["Not kept: the disk is full. Make room, then say it again."]
    bay.disk_full = False
    assert bay.hear("one ninety")[0] == "cylinder one, one niner zero P S I, within limits."


def test_a_disk_that_is_full_from_the_start() -> None:
    """Not even the first step could be opened: whatever is said next tries again."""
    bay = Conversation(short().state.procedure)
    bay.disk_full = True
    bay.start()
    assert bay.said == ["Not kept: the disk is full. Make room, then say it again."]
    assert len(bay.say_all("done", "where are we", "go back", "unable")) == 1
    bay.disk_full = False
    assert bay.hear("done") == ["Count the tools.", "Number?"]


def test_devices_lost_and_back_are_told_and_on_record() -> None:
    """The job stays where it is."""
    bay = at("compression")
    assert bay.send(ev.DeviceLost(0.0, "microphone", "no sound for 2 s")) == ["Trouble: the microphone is lost."]
    assert bay.send(ev.DeviceBack(0.0, "microphone")) == ["The microphone is back."]
    assert bay.entries(e.DeviceChanged) == [
        e.DeviceChanged("microphone", "lost", "no sound for 2 s"),
        e.DeviceChanged("microphone", "back", ""),
    ]
    assert bay.job.step == "compression"


def test_no_more_sound_ends_the_program_not_the_job() -> None:
    """It says how to go on."""
    bay = at("compression")
    bay.send(ev.EarsClosed(0.0))
    assert "layup resume" in bay.finished
    assert not bay.job.finished


# Resume and the end


def test_resume_looks_first_and_keeps_what_was_kept() -> None:
    """Where we are, what must still be so, then the step and what it still wants."""
    bay = at("compression")
    bay.hear("one ninety")
    again = bay.resumed()
    assert again.said[-2:] == [
        "Resuming at step 6, Compression.",
        "Look first: water must be off and engine must be stopped. Affirm when it is so.",
    ]
    assert again.hear("negative")[0].startswith("I wait.")
    assert again.hear("affirm") == ["Crank each cylinder.", "Compression, cylinder two?"]
    assert kept_values(again, "compression") == {"cylinder 1": "190"}


def test_standing_by_does_not_spare_the_look() -> None:
    """After *go ahead* it is asked for again."""
    again = at("compression").resumed()
    again.hear("stand by")
    assert again.hear("go ahead")[-1].startswith("Look first:")


def test_resume_says_the_cautions_again() -> None:
    """Nobody knows who stands at the bench now."""
    again = at("start").resumed()
    assert again.said[-1].startswith("Look first: water must be off and door must be open")
    assert again.hear("affirm") == ["Caution. Hair and sleeves away from the belt. Roger?"]


def test_resume_after_the_last_entry_of_a_step_opens_the_next() -> None:
    """The power failed between *done* and the next step."""
    bay = at("start")
    bay.hear("done")
    bay.kept = [k for k in bay.kept if k.entry != e.StepOpened("water_on")]
    assert bay.resumed().job.step == "water_on"


def test_a_finished_job_only_says_so() -> None:
    """And the program ends."""
    again = PHASES["finished"]().resumed()
    assert again.said[-1] == "This job is finished."
    assert again.finished == "the job is finished"


def test_the_end_counts_what_was_done() -> None:
    """Done and not done; the program ends when the last word is spoken."""
    bay = at("tools_back")
    bay.say_all("unable", "the foreman has the tray")
    assert bay.said[-1] == "Finished. 9 steps done, 1 not done. The foreman has the rest."
    assert bay.entries(e.JobFinished) == [e.JobFinished(9, 1)]
    assert isinstance(bay.effects[-1], Finish)


def test_a_job_needs_its_entries_in_order() -> None:
    """An entry left out is no job."""
    kept = at("start").kept
    with pytest.raises(ValueError, match="cannot follow"):
        fold([kept[0], kept[2]])
    assert apply(Job(), kept[0]).length == 1


# Whatever happens


ROOT = TABLES.parents[1]


def shipped() -> Work:
    folder = ROOT / "procedures"
    return read_work(folder / "pwc-off-season.yaml", folder / "tern-3.sheet.yaml", folder / "our-shop.site.yaml")


def moments(bay: Conversation) -> list[Conversation]:
    """The job as it stands after each thing a helpful technician says."""
    found = []
    while not bay.finished:
        found.append(bay.copy())
        help_on(bay, (0,) * 12)
    return found


@cache
def short_moments() -> list[Conversation]:
    return moments(short())


@cache
def shipped_moments() -> list[Conversation]:
    work = shipped()
    return moments(Conversation(work.procedure, dict(work.sheet.parts), work.site).start())


def check(bay: Conversation) -> None:
    """What holds at every moment of every job."""
    assert bay.job == fold(bay.kept)
    assert [k.sequence for k in bay.kept] == list(range(1, len(bay.kept) + 1))
    assert broken(bay.state.procedure.never, bay.job.conditions) is None
    spoken_as_kept = kept = 0
    for one in bay.story:
        if isinstance(one, Say):
            spoken_as_kept += one.about == "read back"
            assert spoken_as_kept <= kept, f"{one.text} was spoken before it was kept"
        elif isinstance(one.entry, e.ReadingKept):
            kept += 1


@given(st.deferred(lambda: st.integers(0, len(short_moments()) - 1)), st.lists(happenings(), min_size=1, max_size=25))
@settings(max_examples=120, deadline=None)
def test_whatever_happens_in_the_short_job(moment: int, then: list[tuple[str, tuple[int, ...]]]) -> None:
    """Live job equals folded entries, nothing raises, nothing is spoken as kept before it is, no never is reached."""
    bay = short_moments()[moment].copy()
    for what, dice in then:
        bay = happen(bay, what, dice)
        check(bay)


@given(st.deferred(lambda: st.integers(0, len(shipped_moments()) - 1)), st.lists(happenings(), min_size=1, max_size=25))
@settings(max_examples=60, deadline=None)
def test_whatever_happens_in_the_shipped_job(moment: int, then: list[tuple[str, tuple[int, ...]]]) -> None:
    """The same on the real procedure, from any moment of it."""
    bay = shipped_moments()[moment].copy()
    for what, dice in then:
        bay = happen(bay, what, dice)
    check(bay)


@given(st.lists(happenings(), max_size=12))
@settings(max_examples=40, deadline=None)
def test_there_is_always_a_way_on(then: list[tuple[str, tuple[int, ...]]]) -> None:
    """After anything at all, a technician who does what is asked gets to the end."""
    bay = short()
    for what, dice in then:
        bay = happen(bay, what, dice)
    bay.disk_full = False
    for _ in range(400):
        if bay.state.talk.phase == "finished":
            break
        help_on(bay, (0,) * 12)
    assert bay.job.finished


def test_every_expectation_has_commands_of_the_list() -> None:
    """What may be said is made of the commands there are."""
    for phase, of_phase in PHASES.items():
        names = expectation_of(of_phase().state).commands
        assert set(names) <= set(commands.BY_NAME), phase
