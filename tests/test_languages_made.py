"""No English is left in a language that a machine made: what is said of the program's own comes from the table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
import yaml

from assistant.core.binding import bind, say_amount
from assistant.core.joint_steps import steps_of
from assistant.core.labels.meaning import LabelMeaning
from assistant.core.labels.part_check import Taken, check_part
from assistant.core.labels.spoken import read_spoken
from assistant.core.look_up_steps import gate_step, look_up_step
from assistant.core.machine import SealLife, WantedPart
from assistant.core.procedure import Joint, Limit, Step
from assistant.core.sheet_needs import Need, Use
from assistant.core.speech.dates import date_aloud
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.letters import spelled_back
from assistant.core.speech.limit_wording import limit_with_source
from assistant.core.speech.wording import VERDICTS, condition_aloud, verdict_aloud
from assistant.core.units import KINDS, Amount
from assistant.files.language_file import load_language
from assistant.files.procedure_file import load_procedure
from assistant.files.sheet_file import load_sheet
from assistant.files.work import read_work
from tests.conversation import TABLES, TODAY, Conversation
from tests.language_tour import Tour, values_kept
from tests.made_language import MARK, WORD, language_text

FILES = TABLES / "spanish"
JOB = (FILES / "taller.yaml", FILES / "taller.sheet.yaml", FILES / "taller.site.yaml")
WORK = read_work(*JOB)
SPANISH = WORK.site.language


@pytest.fixture
def zulike(tmp_path: Path) -> Language:
    """The language that a machine made."""
    (tmp_path / "zu.yaml").write_text(language_text(), encoding="utf-8")
    return load_language(tmp_path / "zu.yaml")


def held_in(language: Language) -> Conversation:
    """The tour of the short job in a language."""
    site = replace(WORK.site, language=language)
    raw, sheet = load_procedure(JOB[0]), load_sheet(JOB[1])
    bay = Conversation(bind(raw, sheet, site).procedure, dict(sheet.parts), site).start()
    return Tour(bay, language).walk()


def test_a_job_in_a_made_language_has_no_english_in_it(zulike: Language) -> None:
    """All that the program says of its own comes from the table: else a word without its mark is heard."""
    bay = held_in(zulike)
    assert bay.state.talk.phase == "finished"
    assert len(bay.said) > 100
    known = procedure_words()
    spoken_words = {word.lower() for text in bay.said for word in WORD.findall(text)}
    assert {word for word in spoken_words if not word.startswith(MARK)} - known == set()
    assert len({word for word in spoken_words if word.startswith(MARK)}) > 150


def test_a_leak_would_be_found(zulike: Language) -> None:
    """The test above can fail: one English sentence in the table, and it does."""
    leaking = replace(zulike, phrases={**zulike.phrases, "looking": ENGLISH.phrase("looking")})
    spoken_words = {word.lower() for text in held_in(leaking).said for word in WORD.findall(text)}
    assert "looking" in {word for word in spoken_words if not word.startswith(MARK)} - procedure_words()


def test_the_same_is_kept_in_every_language(zulike: Language) -> None:
    """Values and verdicts do not depend on the language that they were said in."""
    english, spanish, third = (list(values_kept(held_in(language))) for language in (ENGLISH, SPANISH, zulike))
    assert english == spanish == third
    assert len(english) >= 12


def said_elsewhere(language: Language) -> Iterator[str]:
    """What the tour does not come by: numbers that are looked up, a joint's order, doubts about parts, dates, limits."""
    torque, count = (Need(name, (Use("xyzzy", unit),)) for name, unit in (("xyzzy", "Nm"), ("xyzzy_least", "count")))
    for step in (
        look_up_step(torque, language),
        look_up_step(count, language),
        gate_step({}, [], language),
        gate_step({"xyzzy": "xyzzy"}, ["xyzzy", "xyzzy_most"], language),
        *steps_of(Step("j", "xyzzy", "xyzzy"), Joint("xyzzy", "circle", ""), 4, NM, language, lambda _: "xyzzy"),
    ):
        yield from (step.title, step.say, *(reading.ask for reading in step.readings))
        yield from (condition_aloud(name, "xyzzy", language) for name in step.needs)
    for label in LABELS:
        yield check_part(label, SEALED, (SEALED, OTHER), TODAY, TAKEN, language).sentence
    for number in ("2990001000118", "2990001001017", "2990001000000", "12345670"):
        yield read_spoken(number, (SEALED,), TODAY, language).problem_said
    yield from (
        date_aloud(day, language) for day in ("2026-11-23", "2027-05", "2024-Q1", "2024-Q2", "2024-Q3", "2024-Q4")
    )
    for limit in LIMITS:
        yield limit_with_source(
            replace(limit, source=SHORT_FOR_THE_EYE),
            language=language,
        )
    for verdict in VERDICTS:
        yield from (verdict_aloud(verdict, "", number=number, language=language) for number in (True, False))
        yield verdict_aloud(verdict, "", margin="xyzzy", language=language)
    yield from (say_amount(Amount(Decimal(n), unit), language) for n in (-1, 1, 2) for unit in KINDS)


SHORT_FOR_THE_EYE = "4 page A-1, no. 3, s. 4, para 5 e.g. 5 % + 1.5 & 1/2, i.e. 4 \u00b0C/5"
NM = Amount(Decimal(20), "Nm")
SEALED = WantedPart("ring", "xyzzy", ("2990001000117",), ("X-1",), superseded=("X-0",), seal=SealLife("label", "", 5))
OTHER = WantedPart("other", "xyzzy", (), ("X-2",))
TAKEN = Taken(frozenset({"X-1/7"}), {"X-1/": 1}, {"ring": frozenset({"X-9"})})
LABELS = (
    LabelMeaning(number="X-1", expiry="2020-01-31"),
    LabelMeaning(number="X-1", best_before="2020-01-31"),
    LabelMeaning(number="X-1"),
    LabelMeaning(number="X-1", made="2001-01-31"),
    LabelMeaning(number="X-1", made="2031-01-31"),
    LabelMeaning(number="X-1", serial="7", made="2026-01-31"),
    LabelMeaning(number="X-1", made="2026-01-31"),
    LabelMeaning(number="X-0", made="2026-01-31"),
    LabelMeaning(number="X-9", made="2026-01-31"),
    LabelMeaning(number="X-2"),
    LabelMeaning(gtin="02990001000995"),
    LabelMeaning(),
    LabelMeaning(only_piece=True),
    LabelMeaning(machine="hull number"),
    LabelMeaning(problem="xyzzy"),
)
LIMITS = (
    Limit("between", low=NM, high=replace(NM, unit="lbf_ft")),
    Limit("between", low="2024-Q3", high="2026-11-23"),
    Limit("above", low=NM, uncertainty=NM),
    Limit("below", high=NM, by="xyzzy"),
    Limit("at_least", low=NM, compared="more_than", other="xyzzy"),
    Limit("between", low=NM, high=NM, compared="less_than", other="xyzzy"),
    Limit("at_most", high=NM, compared="differs_from", other="xyzzy"),
    Limit("target", target=NM, tolerance=NM),
    Limit("spread", share=Decimal(10)),
    Limit("same_as", other="xyzzy"),
    Limit("by", by="xyzzy"),
)


def test_nor_is_there_any_in_what_is_seldom_said(zulike: Language) -> None:
    """The same of sentences that the tour does not come by; letters of the ICAO alphabet, "A" and "C" apart."""
    known = {"xyzzy", "x", "a", "c", "ray", *(spelled_back(letter).lower() for letter in "ABCX")}
    said = list(said_elsewhere(zulike))
    assert len(said) > 150
    spoken_words = {word.lower() for text in said for word in WORD.findall(text)}
    assert {word for word in spoken_words if not word.startswith(MARK)} - known == set()


SPOKEN_KEYS = ("title", "say", "cautions", "because", "ask", "words", "name", "source", "manual", "finding", "motor", "agua",
               "puerta")  # fmt: skip
"""Keys of the short job whose texts are said."""


def procedure_words() -> set[str]:
    """Words of the procedure and the sheet themselves, and of the ICAO alphabet, which is the same in every language."""
    found = {"alfa", "bravo", "charlie", "motor", "agua", "puerta", "cylinder"}
    for path in JOB[:2]:
        texts = _texts_under(yaml.safe_load(path.read_text(encoding="utf-8")), spoken=False)
        found |= {word.lower() for text in texts for word in WORD.findall(text.replace("_", " "))}
    return found


def _texts_under(node: object, *, spoken: bool) -> Iterator[str]:
    if isinstance(node, dict):
        for key, inner in node.items():
            yield from _texts_under(inner, spoken=spoken or key in SPOKEN_KEYS)
    elif isinstance(node, list):
        for inner in node:
            yield from _texts_under(inner, spoken=spoken)
    elif spoken and isinstance(node, str):
        yield node
