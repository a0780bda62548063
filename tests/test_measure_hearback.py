"""Kept sounds heard again: each in the grammar of its moment, counted against what is known, and never against a guess."""

from __future__ import annotations

import contextlib
import json
from argparse import Namespace
from dataclasses import replace
from pathlib import Path

import pytest
from job_samples import tone

from assistant.bench.clock import WallClock
from assistant.bench.hearing import Ears
from assistant.bench.starting import open_job
from assistant.cli import main
from assistant.core import entries as e
from assistant.core.entries import AMENDED, Amended, Entry, HeardAs, Kept, ReadingKept
from assistant.core.events import Take
from assistant.core.expected import expectation_of
from assistant.core.problems import CallProblem
from assistant.core.speech.step_grammar import grammar_of, meanings_of
from assistant.devices.recognisers.choosing import choose_ears
from assistant.devices.recognisers.scripted import ScriptedEar
from assistant.devices.sound_file import read_sound
from assistant.files.clips import Samples
from assistant.files.job_file import JobFile
from assistant.files.model_store import models_root
from assistant.measure.hearback import TOGETHER, ears_for, hear_again
from assistant.measure.hearback_clips import KeptSound, kept_sounds, means
from assistant.measure.hearback_scores import HeardAgain, report, sets_of
from assistant.settings import Settings
from tests.conversation import SHORT, Conversation, take

ROOT = Path(__file__).resolve().parents[1]
AT = "2026-11-25T08:00:00.000Z"
SILENT = (e.JobOpened, e.JobResumed, e.StepOpened, e.Amended)


def spoken(*lines: str) -> list[Entry]:
    """The entries that these lines lead to in the short job, without its first."""
    bay = Conversation(SHORT.procedure, dict(SHORT.sheet.parts), SHORT.site).start()
    bay.say_all(*lines)
    return [k.entry for k in bay.kept[1:]]


TO_COMPRESSION = ("twenty four", "affirm", "roger", "roger", "done", "done", "done", "done")
STORY = spoken(
    *TO_COMPRESSION, "one ninety", "cylinder two one eighteen", "one ninety two", "correction one ninety one"
)


def affirmed(entry: Entry) -> Entry:
    return replace(entry, asked="affirm") if isinstance(entry, ReadingKept) and entry.value == "190" else entry


ENTRIES = [affirmed(entry) for entry in STORY]
SECOND = next(n for n, x in enumerate(ENTRIES, 2) if isinstance(x, ReadingKept) and x.value == "118")


def misheard(entries: list[Entry], sequence: int, value: str) -> list[Entry]:
    """With the foreman's amendment of that entry."""
    old = entries[sequence - 2]
    assert isinstance(old, ReadingKept)
    plain = {
        **{k: getattr(old, k) for k in old.body()},
        "words": "",
        "replaces": sequence,
        "why": AMENDED,
        "weighed": (),
    }
    return [*entries, Amended(**{**plain, "value": value, "said_value": value, "reason": "misheard", "who": "Sam"})]


def job(path: Path, entries: list[Entry], technician: str = "Kim") -> Path:
    """A job file with these entries; what was heard has a sound."""
    job_file, _ = open_job(path, SHORT, WallClock(), "text", technician)
    with job_file:
        for n, entry in enumerate(entries, 2):
            sound: Samples | None = None if isinstance(entry, SILENT) else tone(300 + n)
            job_file.append(entry, AT, sound)
    return path


def sounds_in(path: Path) -> list[KeptSound]:
    with JobFile.open(path, read_only=True) as job_file:
        return list(kept_sounds(SHORT, job_file.entries()))


def heard_in(path: Path, one: list[Take], other: list[Take] | None = None) -> list[HeardAgain]:
    """Heard again by one scripted ear, or by two."""
    first, second = ScriptedEar(one), ScriptedEar(other or [])
    first.name, second.name = "first", "second"
    with JobFile.open(path, read_only=True) as job_file:
        return list(hear_again(job_file, Ears(first, second if other is not None else None)))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return job(tmp_path / "short.job", misheard(ENTRIES, SECOND, "180"))


# The moment


def test_a_sound_is_heard_in_its_own_moment(path: Path) -> None:
    """Each kept string of words means just what was kept, in the grammar of the moment that the fold gives."""
    with JobFile.open(path, read_only=True) as job_file:
        kept = {k.sequence: k.entry for k in job_file.entries()}
    for sound in sounds_in(path):
        entry = kept[sound.truth.sequences[0]]
        assert isinstance(entry, ReadingKept)
        meant = meanings_of(expectation_of(sound.state), tuple(entry.words.split()))
        assert [m.readings[0].place for m in meant] == [entry.at]
        assert [str(m.readings[0].value) for m in meant] == [entry.value]


def test_an_answer_is_heard_in_the_question() -> None:
    """Said digit by digit it was heard in a question, where *done* may not be said; else in the step."""
    answer = [replace(x, asked="digits") if isinstance(x, ReadingKept) else x for x in spoken("two four")]
    plain = spoken("two four")
    for entries, phase in ((answer, "question"), (plain, "step")):
        opened = e.JobOpened("short", "", "", "", "j", (), "layup", "text")
        kept = [Kept(n, AT, x, f"{n:064x}") for n, x in enumerate((opened, *entries), 1)]
        [sound] = [s for s in kept_sounds(SHORT, kept) if s.truth.words == "two four"]
        assert sound.state.talk.phase == phase
        assert grammar_of(expectation_of(sound.state)).accepts(("done",)) == (phase == "step")


# The words that were said


def test_the_kept_words_are_taken_where_they_mean_the_truth(path: Path) -> None:
    """What was affirmed was said as it was heard; what was misheard was said with the fewest words changed."""
    words = {s.truth.how: s.words for s in sounds_in(path)}
    assert words["affirmed"] == "one ninety"
    assert words["amended"] == "cylinder two one eighty"


@pytest.mark.parametrize(
    ("kept", "value", "said"),
    [
        ("cylinder two one eighteen", "180", "cylinder two one eighty"),
        ("cylinder two one one eight", "119", "cylinder two one one nine"),
        ("cylinder two one eighteen psi", "180", "cylinder two one eighty psi"),
        ("cylinder two two oh five", "209", "cylinder two two oh nine"),
        ("cylinder two one one eight", "180", "cylinder two one eight zero"),
    ],
)
def test_the_nearest_words(kept: str, value: str, said: str, tmp_path: Path) -> None:
    """Everything but the figure stays as it was heard."""
    entries = spoken(*TO_COMPRESSION, "one ninety", kept)
    sequence = len(entries) + 1
    sound = sounds_in(job(tmp_path / "near.job", misheard(entries, sequence, value)))[-1]
    assert sound.words == said
    assert any(means(m, sound.truth.said) for m in meanings_of(expectation_of(sound.state), tuple(said.split())))


def test_the_nearest_choice(tmp_path: Path) -> None:
    """A choice is said by one of its words."""
    entries = spoken(*TO_COMPRESSION, "one ninety", "one ninety", "one ninety", "done", "tight")
    sequence = len(entries) + 1
    sound = sounds_in(job(tmp_path / "leads.job", misheard(entries, sequence, "loose")))[-1]
    assert (sound.words, sound.truth.how) == ("loose", "amended")


# The count


AGAIN = [
    take("first", ("twenty four", 0.9)),
    take("first", ("one ninety", 0.9)),
    take("first", ("cylinder two one eighteen", 0.9)),
    take("first", ("one ninety two", 0.9)),
    take("first", ("correction one ninety one", 0.9)),
]
BETTER = [replace(t, ear="second") for t in AGAIN[:2]] + [take("second", ("cylinder two one eighty", 0.9))] + [
    replace(t, ear="second") for t in AGAIN[3:]
]  # fmt: skip


def test_each_ear_is_counted_against_the_truth(path: Path) -> None:
    """The ear that mishears again is wrong by a word; the better one is right; together they ask which of the two."""
    heard = heard_in(path, AGAIN, BETTER)
    [amended] = [one for one in heard if one.sound.truth.how == "amended"]
    answers = {a.ear: a for a in amended.answers}
    assert (answers["first"].right, answers["second"].right) == (False, True)
    assert answers[TOGETHER].kind == "asked"
    known = {s.ear: s.json() for s in next(iter(sets_of(heard, with_corrections=False)))}
    assert (known["first"]["word_errors"], known["first"]["words"]) == (1, 6)
    assert known["first"]["confusions"] == {"eighty -> eighteen": 1}
    assert (known["second"]["word_errors"], known["second"]["whole"], known["second"]["kept_wrong"]) == (0, 2, 0)


def test_agreement_is_told_apart_from_truth(path: Path) -> None:
    """What was kept unasked is no truth; a correction may be a slip and counts only when that is wanted."""
    heard = heard_in(path, AGAIN, BETTER)
    assert [one.sound.truth.how for one in heard] == ["unconfirmed", "affirmed", "amended", "corrected", "unconfirmed"]

    def utterances(with_corrections: bool) -> dict[object, object]:
        found = sets_of(heard, with_corrections=with_corrections)
        return {row["set"]: row["utterances"] for batch in found for row in (score.json() for score in batch)}

    without = utterances(with_corrections=False)
    assert (without["known"], without["unconfirmed"]) == (2, 2)
    assert without["known, technician Kim"] == without["known, step compression"] == 2
    assert utterances(with_corrections=True)["known"] == 3
    text = "\n".join(report(heard, with_corrections=False))
    assert "1 corrected by the technician left out" in text
    assert "eighty -> eighteen 1" in text


def test_every_ear_says_niner_its_way(path: Path) -> None:
    """Pronunciations are no word errors."""
    heard = heard_in(path, [AGAIN[0], take("first", ("one niner zero", 0.9)), *AGAIN[2:]])
    [one] = [h for h in heard if h.sound.truth.how == "affirmed"]
    assert one.answers[0].right, "another way to say it is the same value"
    only = {s.ear: s for s in next(iter(sets_of([one], with_corrections=False)))}
    assert only["first"].edits == {("ninety", "nine"): 1, ("(nothing)", "zero"): 1}


def test_what_was_unclear_has_no_truth(tmp_path: Path) -> None:
    """Heard again it may be taken for something; it is neither right nor wrong, and no words count."""
    unclear = e.HeardUnclear("tools_out", "no words of this step", (HeardAs("vosk", "four", "0.4"),))
    heard = heard_in(job(tmp_path / "unclear.job", [*spoken()[:1], unclear]), [take("first", ("twenty four", 0.95))])
    *_, [score] = sets_of(heard, with_corrections=False)
    row = score.json()
    assert (row["set"], row["utterances"], row["kept"], row["kept_wrong"], row["words"]) == ("unclear", 1, 1, 0, 0)
    assert "Not understood then" in "\n".join(report(heard, with_corrections=False))


def test_an_ear_that_hears_nothing_refuses(path: Path) -> None:
    """Every word is left out, nothing is kept."""
    known, *_ = sets_of(heard_in(path, []), with_corrections=False)
    row = known[0].json()
    assert (row["refused"], row["word_errors"], row["kept_wrong"]) == (2, row["words"], 0)


# The call


def call(**given: object) -> Namespace:
    return Namespace(**{"vosk_model": None, "whisper": None, **given})


def test_forgotten_sound_is_left_out(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where the sound of a job was forgotten there is nothing to hear, and it says how many."""
    count = len(sounds_in(path))
    with JobFile.open(path) as job_file:
        job_file.forget_sound(AT, "", "asked for")
    assert heard_in(path, []) == []
    assert f"{count} sounds are not in the file any more" in capsys.readouterr().err


def test_our_own_whisper_by_its_path_keeps_its_lesson() -> None:
    """As without the option, even where the settings switch Whisper off."""
    chosen = choose_ears(models_root())
    if chosen.whisper is None:
        pytest.skip("whisper-tiny-en is not fetched: `layup models get whisper-tiny-en`")
    assert ears_for(call(whisper=str(chosen.whisper)), Settings(whisper=False), models_root()) == chosen
    assert chosen.lesson is not None


def test_the_ears_that_the_call_names(tmp_path: Path) -> None:
    """A folder of the call takes the place of the settings'; *none* leaves Whisper out; what is not there is told."""
    vosk = ears_for(call(vosk_model=tmp_path, whisper="none"), Settings(), models_root())
    assert (vosk.vosk, vosk.whisper) == (tmp_path, None)
    (tmp_path / "model.bin").write_bytes(b"")
    other = ears_for(call(whisper=str(tmp_path)), Settings(whisper=False), models_root())
    assert (other.whisper, other.lesson) == (tmp_path, None)
    assert "heard as it came" in other.why
    with pytest.raises(CallProblem, match="no Whisper model"):
        ears_for(call(whisper=str(tmp_path / "nowhere")), Settings(), models_root())


BAD: list[tuple[list[str], int, str]] = [
    (["hearback", "nowhere.job"], 2, "nowhere.job: there is no such job file"),
    (["hearback", "short.job", "--whisper", "nowhere"], 2, "nowhere: there is no Whisper model"),
    (["amend", "nowhere.job", "3", "--value", "1", "--reason", "misheard", "--who", "Sam"], 2, "no such job file"),
    (["amend", "short.job", "3", "--value", "1", "--reason", "", "--who", "Sam"], 2, "--reason: an amendment needs"),
]


@pytest.mark.parametrize(("words", "status", "says"), BAD, ids=[" ".join(row[0][:2]) + row[2][:9] for row in BAD])
def test_a_bad_call(words: list[str], status: int, says: str, path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The status as designed, and a line that says what and where."""
    with contextlib.chdir(path.parent):
        assert main(words) == status
    assert says in capsys.readouterr().err


@pytest.mark.speech
def test_the_command_on_real_sound(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A demo line that was kept as 118 and amended to 180 is heard by real Vosk: one object a sound and a set, and status 0."""
    sound = read_sound(ROOT / "demo" / "recordings" / "correction-cylinder-two-one-eight-zero.engine4.flac")
    entries = spoken(*TO_COMPRESSION, "one ninety", "correction cylinder two one one eight")
    path = tmp_path / "real.job"
    job_file, _ = open_job(path, SHORT, WallClock(), "text", "Kim")
    with job_file:
        for entry in entries[:-1]:
            job_file.append(entry, AT)
        job_file.append(entries[-1], AT, sound)
        job_file.append(misheard(entries, len(entries) + 1, "180")[-1], AT)
    assert main(["hearback", str(path), str(tmp_path / "nowhere.job"), "--whisper", "none", "--json", "--each"]) == 2
    told = capsys.readouterr()
    each, *sets = map(json.loads, told.out.splitlines())
    assert (each["how"], each["words"], each["technician"]) == (
        "amended",
        "correction cylinder two one eight zero",
        "Kim",
    )
    assert [row["set"] for row in sets] == ["known", "known, technician Kim", "known, step compression"]
    assert sets[0]["words"] == 6
    assert "nowhere.job: there is no such job file" in told.err
