"""Codes and dates as readings of a job, and read-backs in each regime: asked, kept, judged, read back, corrected, resumed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from assistant.core import entries as e
from assistant.core.speech.saying import ReadBack
from assistant.files.work import read_work
from assistant.reports.write import write_report
from tests.conversation import TABLES, Conversation

TEXTS = read_work(TABLES / "texts.yaml", TABLES / "short.sheet.yaml", None)
HULL = "november two one mike alfa romeo zero zero one kilo two six"


def texts(read_back: ReadBack = "digits") -> Conversation:
    """The job of codes and dates, begun."""
    return Conversation(TEXTS.procedure, {}, replace(TEXTS.site, read_back=read_back)).start()


def last(bay: Conversation) -> e.ReadingKept:
    """The reading kept last."""
    entry = bay.entries(e.ReadingKept)[-1]
    assert isinstance(entry, e.ReadingKept)
    return entry


def test_a_code_is_kept_as_text_and_spelled_back() -> None:
    """The hull number is kept in capitals and digits, without unit or verdict, and spelled by the alphabet."""
    bay = texts()
    spelled = "November two one Mike Alfa Romeo zero zero one Kilo two six"
    assert bay.hear(HULL)[0] == f"{spelled}, kept."
    assert (last(bay).value, last(bay).unit, last(bay).verdict, last(bay).words) == ("N21MAR001K26", "", "", HULL)


def test_a_code_of_another_length_is_not_kept() -> None:
    """One sign less than the hull number has is no hull number."""
    bay = texts()
    assert bay.hear(HULL.removesuffix(" six")) == ["Say again."]
    assert bay.entries(e.ReadingKept) == []


def test_oh_is_asked_about() -> None:
    """ "Oh" in a code may be the digit or the letter: which is asked, and the answer is kept."""
    bay = texts()
    bay.say_all(HULL)
    (question,) = bay.hear("alfa oh one")
    assert set(question.removesuffix("? Say it again.").split("; or, ")) == {"Alfa zero one", "Alfa Oscar one"}
    bay.hear("alfa oscar one")
    assert last(bay).value == "AO1"


@pytest.mark.parametrize(
    ("said", "kept", "verdict", "answer"),
    [
        ("november twenty twenty seven", "2027-11", "within", "November two zero two seven, as it should be."),
        ("november two zero two six", "2026-11", "within", "November two zero two six, as it should be."),
        ("october twenty twenty six", "2026-10", "low", "October two zero two six, too early; at least today."),
        ("twenty fifth of november", "2026-11-25", "within", "two five November two zero two six, as it should be."),
        ("twenty fourth of november", "2026-11-24", "low", "two four November two zero two six, too early; at least"),
        ("fourth quarter twenty six", "2026-Q4", "within", "fourth quarter two zero two six, as it should be."),
    ],
)
def test_a_date_is_judged_by_today(said: str, kept: str, verdict: str, answer: str) -> None:
    """A use-by date is good through its last day, seen from 25 November 2026."""
    bay = texts()
    bay.say_all(HULL, "bravo one")
    assert bay.hear(said)[0].startswith(answer)
    assert (last(bay).value, last(bay).unit, last(bay).verdict) == (kept, "", verdict)


@pytest.mark.parametrize(
    ("said", "verdict"),
    [
        ("three q nineteen", "low"),
        ("four q nineteen", "within"),
        ("three q twenty six", "within"),
        ("four q twenty six", "high"),
    ],
)
def test_a_date_lies_between_two(said: str, verdict: str) -> None:
    """Bounds are inclusive, a quarter counting as its last day (reference.md 4.3)."""
    bay = texts()
    bay.say_all(HULL, "bravo one", "november twenty twenty seven", "done", said)
    assert last(bay).verdict == verdict
    assert last(bay).limit == "2019-Q4 to 2026-Q3"


def test_a_day_that_is_none_is_not_kept() -> None:
    """31 February is refused."""
    bay = texts()
    bay.say_all(HULL, "bravo one")
    assert bay.hear("thirty first of february twenty twenty seven") == ["Say again."]
    assert last(bay).name == "lot"


def test_a_date_or_a_month_is_asked_about() -> None:
    """ "December twenty seven" is a day or a month: which is asked."""
    bay = texts()
    bay.say_all(HULL, "bravo one")
    (question,) = bay.hear("december twenty seven")
    both = {"December two zero two seven", "two seven December two zero two six"}
    assert set(question.removesuffix("? Say it again.").split("; or, ")) == both


def test_texts_are_corrected_read_back_and_survive_a_power_cut() -> None:
    """A correction takes the place of a code; *read back* spells; after a resume the step is still asked rightly."""
    bay = texts()
    bay.say_all(HULL, "bravo one")
    assert bay.hear("correction bravo two")[0] == "Correction, Bravo two, kept."
    assert bay.hear("read back") == ["lot, Bravo two."]
    again = bay.resumed()
    assert again.hear("read back") == ["lot, Bravo two."]
    again.hear("november twenty twenty seven")
    assert again.hear("read back") == ["lot, Bravo two; use by, November two zero two seven."]


def test_the_limit_of_a_date_is_said() -> None:
    """*Limits* names the bounds of a date."""
    bay = texts()
    bay.say_all(HULL, "bravo one")
    assert bay.hear("limits") == ["use by, at least today."]
    bay.say_all("november twenty twenty seven", "done")
    assert bay.hear("limits") == ["cured, from fourth quarter two zero one niner to third quarter two zero two six."]


# reference.md 2.4: 5 800 in each regime; the limits follow the same rule.
@pytest.mark.parametrize(
    ("regime", "said", "limits"),
    [
        (
            "digits",
            "five eight zero zero R P M, within limits.",
            "from five zero zero zero to five eight zero zero R P M",
        ),
        (
            "icao",
            "five thousand eight hundred R P M, within limits.",
            "from five thousand to five thousand eight hundred R P M",
        ),
        (
            "faa",
            "five thousand eight hundred R P M, within limits.",
            "from five thousand to five thousand eight hundred R P M",
        ),
        ("acp125", "five eight zero zero R P M, within limits.", "from five thousand to five eight zero zero R P M"),
        ("maritime", "five eight zero zero R P M, within limits.", "from five thousand to five eight zero zero R P M"),
    ],
)
def test_the_site_says_how_figures_are_read_back(regime: ReadBack, said: str, limits: str) -> None:
    """Value and limits are read back in the site's regime."""
    bay = texts(regime)
    bay.say_all(HULL, "bravo one", "november twenty twenty seven", "done", "four q twenty", "done")
    assert bay.hear("limits") == [f"speed, {limits}."]
    assert bay.hear("five thousand eight hundred")[0] == said


@pytest.mark.parametrize("ending", ["html", "csv", "json"])
def test_texts_stand_in_the_report(tmp_path: Path, ending: str) -> None:
    """Code and date are printed as kept, with verdict and limit, in every form of report."""
    bay = texts()
    bay.say_all(HULL, "bravo one", "november twenty twenty six", "correction october twenty twenty six")
    opened = bay.kept[0].entry
    assert isinstance(opened, e.JobOpened)
    whole = replace(
        opened,
        procedure_text=TEXTS.procedure_text,
        sheet_text=TEXTS.sheet_text,
        site_text="shop: ours\ngallon: us_gal\n",
    )
    write_report((replace(bay.kept[0], entry=whole), *bay.kept[1:]), tmp_path / f"report.{ending}")
    text = (tmp_path / f"report.{ending}").read_text(encoding="utf-8")
    assert all(part in text for part in ("N21MAR001K26", "2026-10", "2026-11", "at least today", "low"))
