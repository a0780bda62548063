"""The foreman asks back: his questions are read out at the next start, and the next thing said is the answer."""

from __future__ import annotations

from assistant.core.entries import Entry, QuestionAnswered, QuestionAsked, ReadingKept
from tests.conversation import Conversation
from tests.test_core_engine import at, at_the_end

QUESTION = "was the engine warm"


def asked(bay: Conversation, *questions: Entry) -> Conversation:
    """The foreman's questions are in the file; then the program is started again."""
    for question in questions:
        bay.commit(question)
    return bay.resumed()


def answers(bay: Conversation) -> list[tuple[int, str]]:
    """Each question that was answered, and the words."""
    found = (k.entry for k in bay.kept)
    return [(e.question, e.words) for e in found if isinstance(e, QuestionAnswered)]


def test_a_question_is_read_out_before_anything_else_and_what_is_said_is_kept() -> None:
    """The question comes first, its answer is on disk before it is told as kept, and then the job goes on."""
    before = at("compression")
    bay = asked(before, QuestionAsked(0, QUESTION, "Ada"))
    question = bay.kept[-2].sequence
    assert bay.said[-1] == "The foreman asks: was the engine warm. Say your answer, or disregard."
    said = bay.hear("yes it had run five minutes")
    assert answers(bay) == [(question, "yes it had run five minutes")]
    assert said[0] == "Answer kept."
    assert said[1].startswith("Resuming at step")
    assert bay.job.asked_back == ()


def test_a_question_about_a_reading_names_it() -> None:
    """The technician hears which reading the foreman means."""
    bay = at("compression")
    bay.hear("cylinder one one eighty eight")
    kept = next(k for k in bay.kept if isinstance(k.entry, ReadingKept) and k.entry.at == "cylinder 1")
    again = asked(bay, QuestionAsked(kept.sequence, "Was the throttle open?", "Ada"))
    assert again.said[-1].startswith("The foreman asks about compression, cylinder one: Was the throttle open? Say")


def test_several_questions_come_one_after_the_other() -> None:
    """Each is answered by its own utterance, in the order in which they were asked."""
    bay = asked(at("compression"), QuestionAsked(0, "First?", "Ada"), QuestionAsked(0, "Second?", "Ada"))
    first, second = (k.sequence for k in bay.kept if isinstance(k.entry, QuestionAsked))
    bay.hear("one")
    assert bay.said[-1].startswith("The foreman asks: Second?")
    bay.hear("two")
    assert answers(bay) == [(first, "one"), (second, "two")]


def test_say_again_repeats_the_question() -> None:
    """A question that was not understood is no answer."""
    bay = asked(at("compression"), QuestionAsked(0, QUESTION, "Ada"))
    [again] = bay.hear("say again")
    assert again.startswith("The foreman asks: was the engine warm.")
    assert answers(bay) == []


def test_disregard_leaves_it_for_the_next_start() -> None:
    """It is put off, not lost: the job goes on, and at the next start it is asked again."""
    bay = asked(at("compression"), QuestionAsked(0, QUESTION, "Ada"))
    said = bay.hear("disregard")
    assert said[0] == "Left for later."
    assert said[1].startswith("Resuming at step")
    assert len(bay.job.asked_back) == 1
    assert bay.resumed().said[-1].startswith("The foreman asks:")


def test_stand_by_waits_and_then_asks_again() -> None:
    """Called away, the technician says stand by; nothing is taken for the answer until go ahead."""
    bay = asked(at("compression"), QuestionAsked(0, QUESTION, "Ada"))
    bay.hear("stand by")
    bay.hear("can you hold this")
    assert answers(bay) == []
    assert bay.hear("go ahead")[-1].startswith("The foreman asks:")


def test_a_finished_job_is_asked_about_too() -> None:
    """The job is over, and the question comes at the next start all the same; then the program ends."""
    again = asked(at_the_end(), QuestionAsked(0, QUESTION, "Ada"))
    said = again.hear("warm")
    assert answers(again)[0][1] == "warm"
    assert said == ["Answer kept.", "This job is finished."]
    assert again.finished


def test_a_full_disk_keeps_the_question_open() -> None:
    """An answer that did not reach the disk is not told as kept."""
    bay = asked(at("compression"), QuestionAsked(0, QUESTION, "Ada"))
    bay.disk_full = True
    said = bay.hear("warm")
    assert answers(bay) == []
    assert "Answer kept." not in said
    bay.disk_full = False
    bay.hear("warm")
    assert answers(bay)[0][1] == "warm"
