"""What was said on a kept sound, and how that is known: only from the entries, never because an ear heard it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from job_samples import any_entry, at, reading

from assistant.core import entries as e
from assistant.core.entries import Kept
from assistant.core.judging import JUDGED_AGAIN
from assistant.core.truth import ClipTruth, Said, truth_of
from assistant.core.turns.readings import ASKED_TOO_OFTEN, DENIED

OPENED = e.JobOpened("layup", "", "", "", "bay 2", (), "layup", "vosk", "Kim")


def heard(*entries: e.Entry) -> tuple[Kept, ...]:
    """The entries in a file, each with a sound of its own where something was heard."""
    silent = (e.JobOpened, e.JobResumed, e.StepOpened, e.Amended)
    return tuple(
        Kept(n, at(n), x, "" if isinstance(x, silent) or x.body().get("why") == JUDGED_AGAIN else f"{n:064x}")
        for n, x in enumerate(entries, start=1)
    )


def psi(value: str, place: str = "cylinder 2", **more: object) -> e.ReadingKept:
    return reading("compression", place, value, **more)


def amended(value: str, replaces: int, reason: str, **more: Any) -> e.Amended:
    plain = psi(value, words="", replaces=replaces, why=e.AMENDED).body()
    return e.Amended(**{**plain, "weighed": (), "reason": reason, "who": "Sam", **more})


def judged(entry: e.ReadingKept, replaces: int) -> e.ReadingKept:
    return replace(entry, verdict="low", replaces=replaces, why=JUDGED_AGAIN)


TABLE: list[tuple[str, tuple[e.Entry, ...], str, str]] = [
    ("kept and left alone", (psi("118"),), "118", "unconfirmed"),
    ("affirmed", (psi("118", asked="affirm"),), "118", "affirmed"),
    ("which of two", (psi("118", asked="choose"),), "118", "unconfirmed"),
    ("digit by digit", (psi("118", asked="digits"),), "118", "unconfirmed"),
    ("corrected by the technician", (psi("118"), psi("180", replaces=1, why="correction")), "180", "corrected"),
    ("said again", (psi("118"), psi("180", replaces=1, why="said again")), "180", "corrected"),
    ("affirmed, then corrected", (psi("118", asked="affirm"), psi("180", replaces=1, why="correction")), "180", "corrected"),
    ("judged again", (psi("118"), judged(psi("118"), 1)), "118", "unconfirmed"),
    ("judged again, then corrected",
     (psi("118"), judged(psi("118"), 1), psi("180", replaces=2, why="correction")), "180", "corrected"),
    ("misheard", (psi("118"), amended("180", 1, "misheard")), "180", "amended"),
    ("affirmed and yet misheard", (psi("118", asked="affirm"), amended("180", 1, "misheard")), "180", "amended"),
    ("misspoken", (psi("118"), amended("180", 1, "misspoken")), "118", "unconfirmed"),
    ("affirmed, then misspoken", (psi("118", asked="affirm"), amended("180", 1, "misspoken")), "118", "affirmed"),
    ("measured again", (psi("118"), amended("180", 1, "measured again")), "118", "unconfirmed"),
    ("other words", (psi("118"), amended("180", 1, "the gauge was not zeroed")), "118", "unconfirmed"),
    ("misheard, amended twice", (psi("118"), amended("108", 1, "misheard"), amended("180", 2, "misheard")), "180", "amended"),
    ("misheard, then measured again",
     (psi("118"), amended("180", 1, "misheard"), amended("185", 2, "measured again")), "180", "amended"),
    ("misspoken, then misheard after all",
     (psi("118"), amended("120", 1, "misspoken"), amended("180", 2, "misheard")), "180", "amended"),
    ("amended, judged again", (psi("118"), amended("180", 1, "misheard"),
     amended("180", 2, "misheard", why=JUDGED_AGAIN)), "180", "amended"),
    ("misheard, and later said again by the technician",
     (psi("118"), amended("180", 1, "misheard"), psi("190", replaces=2, why="said again")), "180", "amended"),
    ("the correction was misheard",
     (psi("118"), psi("118.5", replaces=1, why="correction"), amended("180", 2, "misheard")), "180", "corrected"),
]  # fmt: skip


@pytest.mark.parametrize(("entries", "value", "how"), [row[1:] for row in TABLE], ids=[row[0] for row in TABLE])
def test_what_was_said(entries: tuple[e.Entry, ...], value: str, how: str) -> None:
    """Of the first sound of each story: what was said, and how that is known."""
    first = truth_of(heard(*entries))[0]
    assert (first.said, first.how) == ((Said("compression", "cylinder 2", value, "psi"),), how)
    assert (first.sequences, first.clip, first.words) == ((1,), f"{1:064x}", "cylinder 2 118")


def test_a_correction_meant_another_place() -> None:
    """The doubtful truth of the first sound is all of the later value, its place too."""
    first, second = truth_of(heard(psi("190"), psi("190", "cylinder 3", replaces=1, why="correction")))
    assert (first.said[0].at, first.how) == ("cylinder 3", "corrected")
    assert (second.said[0].at, second.how) == ("cylinder 3", "unconfirmed")


def test_several_values_in_one_breath_are_one_sound() -> None:
    """One truth of three values; one of them amended as misheard makes the whole known, one corrected makes it doubtful."""
    breath = tuple(Kept(n, at(n), psi("190", f"cylinder {n}", words="all three"), "c" * 64) for n in (1, 2, 3))
    [truth] = truth_of(breath)
    assert (truth.sequences, [s.at for s in truth.said]) == ((1, 2, 3), ["cylinder 1", "cylinder 2", "cylinder 3"])
    [amended_one] = truth_of((*breath, Kept(4, at(4), amended("180", 2, "misheard"))))
    assert ([s.value for s in amended_one.said], amended_one.how) == (["190", "180", "190"], "amended")
    corrected = Kept(5, at(5), psi("150", "cylinder 3", replaces=3, why="correction"), "d" * 64)
    assert truth_of((*breath, corrected))[0].how == "corrected"


def test_the_same_recording_twice_is_two_sounds() -> None:
    """Recorded lines may be played twice: what stands apart, or at the same place, is not one breath."""
    twice = (Kept(1, at(1), psi("190", ""), "c" * 64), Kept(2, at(2), psi("190", "", replaces=1), "c" * 64))
    assert [t.sequences for t in truth_of(twice)] == [(1,), (2,)]


def test_who_spoke() -> None:
    """The technician of the last start before; a start that names nobody leaves it open."""
    story = heard(OPENED, psi("190"), e.JobResumed("layup", "vosk", "Ines"), psi("191"), e.JobResumed("layup", "vosk"))
    later = Kept(6, at(6), psi("192"), "f" * 64)
    assert [t.technician for t in truth_of((*story, later))] == ["Kim", "Ines", ""]


def test_what_was_unclear_is_unknown() -> None:
    """The sound counts, without anything said; what has no sound is left out."""
    unclear = e.HeardUnclear("compression", "no words of this step", ())
    [truth] = truth_of((*heard(unclear), Kept(2, at(2), unclear)))
    assert truth == ClipTruth((1,), f"{1:064x}", "", "compression", "", (), "unknown")


DENIED_118 = e.HeardUnclear("compression", DENIED, ())
OTHER_WORDS = e.HeardUnclear("compression", "no words of this step", ())


@pytest.mark.parametrize(
    ("then", "said"),
    [
        ((psi("180", asked="digits"),), "180"),
        ((psi("180", asked="affirm"),), "180"),
        ((DENIED_118, psi("180", asked="digits")), "180"),
        ((psi("180"),), None),
        ((OTHER_WORDS, psi("180", asked="digits")), "180"),
        ((e.HeardUnclear("compression", ASKED_TOO_OFTEN, ()), psi("180", asked="digits")), None),
        ((e.StepDone("compression", ()), psi("180", asked="digits")), None),
        ((replace(psi("180", asked="digits"), step="battery"),), None),
        ((), None),
    ],
)
def test_what_was_denied_is_known_by_what_settled_it(then: tuple[e.Entry, ...], said: str | None) -> None:
    """The value that answers the same question, and nothing that comes later or elsewhere; else it is unknown."""
    first = truth_of(heard(DENIED_118, *then))[0]
    wanted = (Said("compression", "cylinder 2", said, "psi"),) if said else ()
    assert (first.said, first.how, first.sequences) == (wanted, "denied" if said else "unknown", (1,))


@given(st.lists(any_entry(), max_size=12))
def test_any_entries_have_a_truth(entries: list[e.Entry]) -> None:
    """Whatever stands in a file, in whatever order: one truth for each sound of a reading, and no fault."""
    truths = truth_of(heard(*entries))
    of_sounds = [t.sequences for t in truths]
    wanted = [n for n, x in enumerate(entries, 1) if isinstance(x, e.HeardUnclear)]
    wanted += [
        n for n, x in enumerate(entries, 1)
        if isinstance(x, e.ReadingKept) and not isinstance(x, e.Amended) and x.why != JUDGED_AGAIN
    ]  # fmt: skip
    assert sorted(n for seqs in of_sounds for n in seqs) == sorted(wanted)
