"""The radiotelephone procedure words, said in a job: what each leads to, and those that are not of this program."""

from __future__ import annotations

import pytest

from assistant.core import entries as e
from assistant.core.events import Label
from assistant.core.machine import Site
from assistant.core.speech.repeating import part_of, words_in
from assistant.files.work import read_work
from tests.conversation import TABLES, Conversation, short
from tests.strategies import help_on

CODES = read_work(TABLES / "texts.yaml", TABLES / "short.sheet.yaml", None)


def rows() -> list[list[str]]:
    """Word, before, said, answer."""
    lines = (TABLES / "procedure_words.tsv").read_text(encoding="utf-8").splitlines()
    return [line.split("\t") for line in lines if not line.startswith("#")]


def at(step: str) -> Conversation:
    """The short job at that step."""
    bay = short()
    while bay.job.step != step or bay.state.talk.phase in ("condition", "caution"):
        help_on(bay, (185,) * 12)
    return bay


def after(before: str) -> Conversation:
    """The short job when these things have been said."""
    first, *rest = before.split("; ")
    bay = at(first.removeprefix("@")) if first.startswith("@") else short()
    bay.say_all(*(rest if first.startswith("@") else [first, *rest]))
    return bay


@pytest.mark.parametrize(("word", "before", "said", "answer"), rows())
def test_a_word_leads_to(word: str, before: str, said: str, answer: str) -> None:
    """What is answered is what the table says."""
    assert " ".join(after(before).hear(said)).startswith(answer), word


def test_a_value_corrected_in_the_same_breath_is_kept_alone() -> None:
    """ "Niner fife correction niner six" is 96, and nothing else is kept (dialogue vector, reference.md 2.5)."""
    bay = at("compression")
    bay.hear("niner fife correction niner six")
    assert [
        k.value for k in bay.entries(e.ReadingKept) if isinstance(k, e.ReadingKept) and k.step == "compression"
    ] == ["96"]


def test_a_value_disregarded_in_the_same_breath_is_not_kept() -> None:
    """ "Fower disregard" keeps no reading (dialogue vector, reference.md 2.5)."""
    bay = at("compression")
    before = bay.entries(e.ReadingKept)
    bay.hear("fower disregard")
    assert bay.entries(e.ReadingKept) == before


def test_roger_leaves_a_question_open() -> None:
    """To a yes or no question *roger* is no answer: nothing is kept, and *affirm* still answers it."""
    bay = at("filter")
    bay.scan(Label("CODE-128", "NOT-OURS"))
    before = len(bay.entries(e.PartScanned))
    assert bay.hear("roger") == ["Roger is not yes. Say affirm, or negative."]
    assert len(bay.entries(e.PartScanned)) == before
    bay.hear("affirm")
    assert len(bay.entries(e.PartScanned)) == before + 1


def test_roger_is_no_value_either() -> None:
    """Where it was asked which of two, *roger* has the question put again."""
    bay = Conversation(CODES.procedure, {}, CODES.site).start()
    bay.hear("november two one mike alfa romeo zero zero one kilo two six")
    (question,) = bay.hear("alfa oh one")
    assert bay.hear("roger") == ["Roger is no value.", question]


def test_the_whole_can_still_be_had_after_a_part() -> None:
    """*Say again* after *say again all after* repeats the whole, not the part."""
    bay = at("compression")
    whole = bay.hear("say again")
    bay.hear("say again all after crank")
    assert bay.hear("say again") == whole


def test_a_shops_own_word_takes_a_part_too() -> None:
    """What a shop calls *say again* goes with *all after* as well."""
    bay = Conversation(short().state.procedure, site=Site(command_words={"say again": ("come again",)})).start()
    bay.hear("come again")
    assert bay.hear("come again all after the") == ["tools. Number?"]


@pytest.mark.parametrize(
    ("side", "word", "part"),
    [
        ("after", "bolts", "to 20 newton meters, then rest."),
        ("before", "to", "Torque the bolts"),
        ("after", "rest", ""),
        ("before", "torque", ""),
        ("after", "nuts", ""),
    ],
)
def test_the_part_that_is_asked_for(side: str, word: str, part: str) -> None:
    """After a word comes the rest of it, before a word what led to it; nothing where the word is not in it."""
    texts = ("Torque the bolts to 20 newton meters, then rest.",)
    assert part_of(texts, side, word) == part
    assert "bolts" in words_in(texts)
