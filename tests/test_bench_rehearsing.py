"""`layup rehearse`: the walk is the engine's own, its answers are what `layup parse` understands, what went wrong is told."""

from __future__ import annotations

import io
import json
import re
from contextlib import chdir
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from assistant.bench.going_well import GoingWell, label_of
from assistant.bench.listening import parse_words
from assistant.bench.rehearsing import Scripted, Walk, minutes_of, shown_by_fields
from assistant.bench.text_talk import TextTalk
from assistant.cli import main
from assistant.core import entries as e
from assistant.core.events import Label
from assistant.core.expected_time import ASSUMED_S, Answer, Pace, expected_time, total_s
from assistant.core.labels.meaning import read_label
from assistant.core.labels.part_check import check_part
from assistant.core.machine import SealLife, WantedPart
from assistant.core.procedure import Step
from assistant.files.answers_file import read_answers
from assistant.files.work import Work, read_work
from assistant.reports.rehearsal import KINDS, Rehearsal
from tests.conversation import TABLES, TODAY

ROOT = Path(__file__).resolve().parents[1]
SHORT = (str(TABLES / "short.yaml"), "--machine", str(TABLES / "short.sheet.yaml"))
PACE = Pace(165, 0.6)


def short_work() -> Work:
    return read_work(TABLES / "short.yaml", TABLES / "short.sheet.yaml", None)


def shipped_work() -> Work:
    return read_work(Path("pwc-off-season"), Path("tern-3"), Path("our-shop"))


def rehearsed(work: Work, answers: str = "", today: date = TODAY) -> Rehearsal:
    """The job walked through with these lines (the text of an answers file)."""
    lines = read_answers(answers, "answers.yaml", work.procedure) if answers else {}
    return Walk(work, Scripted(lines, GoingWell(work.sheet.values), work.procedure), today, lambda _: None).run(PACE)


def talked(work: Work, answers: str = "") -> TextTalk:
    """The same, and the talk itself."""
    lines = read_answers(answers, "answers.yaml", work.procedure) if answers else {}
    walk = Walk(work, Scripted(lines, GoingWell(work.sheet.values), work.procedure), TODAY, lambda _: None)
    walk.run(PACE)
    return walk.talk


def changed(tmp_path: Path, *pairs: tuple[str, str]) -> Work:
    """The short job with these texts in place of others."""
    text = (TABLES / "short.yaml").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "changed.yaml"
    path.write_text(text, encoding="utf-8")
    return read_work(path, TABLES / "short.sheet.yaml", None)


def said(rehearsal: Rehearsal, who: str, step: str = "") -> list[str]:
    return [line.text for line in rehearsal.lines if line.who == who and step in ("", line.step)]


# --- all goes well


@pytest.fixture(scope="module")
def shipped() -> Rehearsal:
    return rehearsed(shipped_work())


def test_the_shipped_procedure_goes_well_by_itself(shipped: Rehearsal) -> None:
    """Every step is done, nothing is asked or refused, and every value is within its limits."""
    assert shipped.finished
    assert shipped.went_well
    assert dict(shipped.score) == dict.fromkeys(KINDS, 0), shipped.problems
    assert shipped.lines[-1].text == f"Finished. {len(shipped.procedure.steps)} steps done. The foreman has the rest."


def test_every_reading_is_what_parse_makes_of_the_words() -> None:
    """What is kept in the walk is what `layup parse` says of the same words at that step."""
    work = shipped_work()
    kept = [k.entry for k in talked(work).kept if isinstance(k.entry, e.ReadingKept)]
    asked_alone = [r for r in kept if len(work.procedure.step(r.step).readings) == 1 and not r.at]
    assert len(asked_alone) > 25
    for reading in asked_alone:
        [found] = parse_words(work, reading.step, reading.words, TODAY)["readings"]
        assert (found["name"], found["value"]) == (reading.name, reading.value)


def test_every_limit_stands_with_its_source_where_its_step_begins(shipped: Rehearsal) -> None:
    """Between the step's opening and the first question there is a line for each limit, and it ends in its source."""
    for step in shipped.procedure.steps:
        lines = [line for line in shipped.lines if line.step == step.id]
        limits = [limit for reading in step.readings for limit in reading.limits]
        assert [line.who for line in lines[: len(limits)]] == ["limit"] * len(limits)
        for limit, line in zip(limits, lines, strict=False):
            assert limit.source
            assert line.text.endswith(f"({limit.source})")


def test_the_parts_are_those_that_were_shown(shipped: Rehearsal) -> None:
    """As many pieces as were taken in the walk, role by role."""
    taken = [line.text.split()[1].rstrip(":") for line in shipped.lines if "taken (" in line.text]
    assert {row.part.role: row.pieces for row in shipped.parts} == {role: taken.count(role) for role in taken}


def test_the_values_are_the_names_that_the_file_writes(shipped: Rehearsal) -> None:
    """Counted in the text of the file itself: each sheet value that it names other than as the name of a reading."""
    text = (ROOT / "procedures/pwc-off-season.yaml").read_text(encoding="utf-8")
    text = re.sub(r"name: \w+", "", text)
    named = {name for name in shipped.sheet.values if re.search(rf"\b{name}\b", text)}
    assert {row.value.name for row in shipped.values} == named


def test_nothing_is_left_behind(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No job file, no sound, nothing."""
    with chdir(tmp_path):
        assert main(["rehearse", *SHORT]) == 0
    assert list(tmp_path.iterdir()) == []
    assert "the job came to its end" in capsys.readouterr().out


LIMITS = [
    ("between: [compression_least, compression_most]", "195"),
    ("at_least: 100 psi", "100"),
    ("at_most: 100 psi", "50"),
    ("above: 100 psi", "101"),
    ("target: 180 psi, within: 5 psi", "180"),
    ("between: [10 bar, 12 bar]", "160"),
    ("between: [100 psi, 110 psi], uncertainty: 2 psi", "105"),
    ("at_least: 100 psi, uncertainty: 5 psi", "105"),
]
"""A limit of the compression reading, and what goes well; 10 to 12 bar are 145.04 to 174.05 psi, their middle 159.5."""


@pytest.mark.parametrize(("limit", "value"), LIMITS)
def test_a_value_inside_its_limits_is_said(tmp_path: Path, limit: str, value: str) -> None:
    """The middle of two bounds, a least itself where that is surely within, the middle between plausible and a most."""
    work = changed(tmp_path, ("between: [compression_least, compression_most]", f'{limit}, source: "test"'))
    kept = [k.entry for k in talked(work).kept if isinstance(k.entry, e.ReadingKept) and k.entry.name == "compression"]
    assert [entry.verdict for entry in kept] == ["within"] * 3
    if "at_least: 100 psi, unc" in limit:  # so far from the bound that the gauge can tell; how far is the rule's own
        assert Decimal(kept[0].value) >= Decimal(value)
    else:
        assert [entry.value for entry in kept] == [value] * 3


def test_the_usual_value_of_the_sheet_goes_before_the_middle() -> None:
    """195 psi is usual on the sheet, and so it is said."""
    assert "compression cylinder 1 = 195 psi [within]" in said(rehearsed(shipped_work()), "kept", "compression")


def test_limits_that_shut_each_other_out_are_told(tmp_path: Path) -> None:
    """No value is within: one is said all the same, stands out of limits, and the job still comes to its end."""
    work = changed(tmp_path, ("{at_least: battery_least}", "{at_least: battery_least}, {at_most: 12 V}"))
    found = rehearsed(work)
    assert found.finished
    assert [(p.kind, p.step) for p in found.problems] == [("out of limits", "battery")]


PARTS = [
    WantedPart("seal", "seal", gtins=("2990001000513",), seal=SealLife("iso2230", "NBR")),
    WantedPart("seal", "seal", gtins=("2990001000513",)),
    WantedPart("plug", "plug", numbers=("T3-7",)),
]


@pytest.mark.parametrize("part", PARTS, ids=["ages", "product", "number"])
def test_the_label_that_is_shown_is_right(part: WantedPart) -> None:
    """The check of parts takes it at once."""
    label = label_of(part, TODAY)
    assert isinstance(label, Label)
    assert check_part(read_label(label, TODAY), part, [part], TODAY).answer == "right"


def test_letters_and_dates_are_said_too() -> None:
    """A job with a code and a date in it goes well."""
    work = read_work(TABLES / "texts.yaml", TABLES / "short.sheet.yaml", None)
    found = rehearsed(work)
    assert found.finished
    assert found.score["not understood"] == 0
    assert found.score["out of limits"] == 0


# --- a script


def test_lines_of_a_step_are_said_there_and_the_rest_goes_well() -> None:
    """Cautions are answered by themselves, a correction corrects, a skipped step is told."""
    found = rehearsed(
        short_work(),
        "tools_out: twelve\nstart: [say again, correction fourteen]\n"
        "compression: [cylinder one one eighty, one ninety]\nfog: [unable, no spray left]\n",
    )
    assert found.finished
    assert said(found, "kept", "tools_out") == ["tools_out = 12 count"]
    assert said(found, "kept", "start") == ["tools_out = 14 count, replaces entry 3"]
    assert said(found, "kept", "compression")[:2] == [
        "compression cylinder 1 = 180 psi [within]", "compression cylinder 2 = 190 psi [within]",
    ]  # fmt: skip
    assert ("step not done", "fog", "no spray left") in [(p.kind, p.step, p.text) for p in found.problems]


def test_a_correction_after_the_step_is_said_at_the_next() -> None:
    """The lines of a step wait for it: a step that is over by then tells which were never said."""
    found = rehearsed(short_work(), "stop: [done, done]\n")
    assert [(p.kind, p.place) for p in found.problems] == [("never said", "answers.yaml:1:14")]
    assert not found.went_well


def test_lines_of_a_repeated_step_are_said_in_each_repeat() -> None:
    """`plug` stands for every cylinder, `plug.2` for that one."""
    found = rehearsed(shipped_work(), "plug: black\nplug.2: wet\n")
    told = [line.text for line in found.lines if line.who == "technician" and line.step.startswith("plug.")]
    assert [words for words in told if words != "done"] == ["black", "wet", "black"]


def test_what_is_not_understood_is_told_with_its_place() -> None:
    """The line's own file, line and column, what was said, and that the job ended all the same."""
    found = rehearsed(short_work(), "tools_out:\n  - bananas\n  - twelve\n")
    [problem] = [p for p in found.problems if p.kind == "not understood"]
    assert str(problem).startswith("answers.yaml:2:5: 'bananas' is not understood here")
    assert found.finished
    assert not found.went_well


def test_where_nothing_moves_the_rehearsal_is_given_up() -> None:
    """Eight answers that nothing is kept of."""
    found = rehearsed(short_work(), f"tools_out: [{', '.join(['where are we'] * 9)}]\n")
    assert found.score["stuck"] == 1
    assert not found.finished


MISTAKES = [
    ("tools_outt: twelve\n", "answers.yaml:1:1: there is no step 'tools_outt'\n  did you mean 'tools_out'?"),
    ("stop: done\ntools_out: {say: twelve}\n", "answers.yaml:2:12: 'tools_out' is one text"),
    ("stop: done\nstop: done\n", "answers.yaml:2:1: the key 'stop' is given twice"),
    ("- twelve\n", "answers.yaml:1:1: this is not a table of keys"),
    ("", "answers.yaml:1:1: the file is empty"),
    ("stop: [done\n", "answers.yaml:2:1: this is not YAML"),
]


@pytest.mark.parametrize(("text", "told"), MISTAKES)
def test_a_mistake_in_the_answers_is_told_where_it_stands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, told: str
) -> None:
    """File, line and column, what is wrong, what to do; status 1, and nothing is walked."""
    (tmp_path / "answers.yaml").write_text(text, encoding="utf-8")
    assert main(["rehearse", *SHORT, "--answers", str(tmp_path / "answers.yaml")]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert told in err.replace(f"{tmp_path}/", "")


def test_the_status_tells_whether_the_script_was_understood(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """0 where it was, 1 where a line was not, 2 where there is no such file."""
    answers = tmp_path / "answers.yaml"
    answers.write_text("tools_out: twelve\n", encoding="utf-8")
    assert main(["rehearse", *SHORT, "--answers", str(answers)]) == 0
    answers.write_text("tools_out: [bananas, twelve]\n", encoding="utf-8")
    assert main(["rehearse", *SHORT, "--answers", str(answers)]) == 1
    assert main(["rehearse", *SHORT, "--answers", str(tmp_path / "none.yaml")]) == 2
    assert main(["rehearse", *SHORT, "--answers", str(answers), "--typed"]) == 2
    assert "none.yaml" in capsys.readouterr().err


def test_each_line_of_json_is_an_object(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing else on standard output; the last says how it ended; the lines are those of the text."""
    answers = tmp_path / "answers.yaml"
    answers.write_text("battery: [loose, twelve]\n", encoding="utf-8")
    assert main(["rehearse", *SHORT, "--json", "--answers", str(answers)]) == 0
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert rows[-1]["kind"] == "end"
    assert rows[-1]["finished"] is True
    assert rows[-1]["problems"]["out of limits"] == 2
    assert rows[-1]["expected_s"] == round(sum(row["seconds"] for row in rows if row["kind"] == "time"))
    assert {row["kind"] for row in rows} >= {
        "assistant",
        "technician",
        "kept",
        "limit",
        "part",
        "value",
        "time",
        "found",
    }
    assert [row["pieces"] for row in rows if row["kind"] == "part"] == [1, 2]


# --- typed


def typed(monkeypatch: pytest.MonkeyPatch, *lines: str) -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    return main(["rehearse", *SHORT, "--typed"])


WHOLE = (
    "twelve", "affirm", "roger", "roger", "done", "done", "done", "done", "one eighty", "one ninety", "one eighty five",
    "tight", "twelve point six", "part", "part", "part", "affirm", "go ahead", "twelve", "done",
)  # fmt: skip


def test_a_whole_job_can_be_typed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Line by line on standard input; the right part is shown whenever it is asked for."""
    assert typed(monkeypatch, *WHOLE) == 0
    assert "Finished. 10 steps done." in capsys.readouterr().out


def test_a_question_mark_tells_what_may_be_said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The readings with their units, the commands with what they do; it is no answer, and lines that end leave the job."""
    assert typed(monkeypatch, "twelve", "affirm", "?", "roger", "roger", "", "done", "done", "done", "done", "?") == 1
    out, err = capsys.readouterr()
    cautioned, measuring = err.split("now: ")[1:]
    assert cautioned.startswith("roger")
    assert "roger: heard and understood" in cautioned
    assert "done:" not in cautioned
    assert "a number from 0 to 400 P S I" in measuring
    assert "the job did not come to its end" in out
    assert "not understood" not in out.replace("0 not understood", "")


def test_a_typed_slip_is_told_and_forgiven(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """What is not understood is shown; said right after that, the job is as good as any."""
    assert typed(monkeypatch, "bananas", *WHOLE) == 0
    assert "'bananas' is not understood here" in capsys.readouterr().out


# --- the time


def test_the_expected_time_is_the_sum_of_its_parts() -> None:
    """By hand: 11 words at 60 a minute are 11 s; 3 answers of 4 words 4 s and 3 x 0.5 s of quiet; 5 s counted; a step of 2 min
    in place of its answer; a caution and a reading as assumed."""
    answers = [Answer("a", "caution", 1), Answer("a", "reading", 2), Answer("b", "done", 1)]
    texts = ["one two three four five six", "go to 12.5"]
    parts = expected_time(texts, answers, 5, {"b": Decimal(2)}, Pace(60, 0.5))
    assert total_s(parts) == 11 + 4 + 1.5 + 5 + 120 + ASSUMED_S["caution"] + ASSUMED_S["reading"]
    assert all(part.source for part in parts)


def test_minutes_of_a_joint_count_once_those_of_repeats_each_time() -> None:
    """Three turns of one joint are one piece of work; two cylinders are two."""
    two = Decimal(2)
    joint = [Step(f"bolts.{n}", "", "", at=n, minutes=two) for n in range(3)]
    plugs = [Step(f"plug.{n}", "", "", at=n, each="cylinder", minutes=two) for n in (1, 2)]
    assert sum(minutes_of(joint).values()) == 2
    assert sum(minutes_of(plugs).values()) == 4
    assert minutes_of([Step("x", "", "")]) == {}


def test_a_step_that_is_for_other_machines_is_told(tmp_path: Path) -> None:
    """Passed over, and its kept entry is shown."""
    work = changed(
        tmp_path,
        ("  door: [closed, open]\n", "  door: [closed, open]\n  cooling: [open, closed]\n"),
        ("door: unsure}", "door: unsure, cooling: open}"),
        ("  - id: fog\n", "  - id: fog\n    only: {cooling: closed}\n"),
    )
    found = rehearsed(work)
    assert found.finished
    [passed] = [line for line in found.lines if line.step == "fog"]
    assert passed.who == "kept"
    assert re.search("passed.* cooling.* open", passed.text)


def test_a_photograph_that_is_wanted_is_taken(tmp_path: Path) -> None:
    """*Part* takes it, as the assistant asks; the step is then done."""
    work = changed(
        tmp_path, ("    say: Shut the tap.\n", "    say: Shut the tap.\n    photographs: [{name: tap, of: the tap}]\n")
    )
    found = rehearsed(work)
    assert said(found, "camera", "water_off") == ["a picture of the tap"]
    assert said(found, "kept", "water_off") == ["photograph: tap"]
    assert dict(found.score) == dict.fromkeys(KINDS, 0)


def test_an_entry_that_nobody_has_words_for_is_shown_by_its_fields() -> None:
    """A kind that comes later is not passed over in silence."""
    assert (
        shown_by_fields(e.DeviceChanged("camera", "lost", "gone"))
        == "device changed: device camera, state lost, why gone"
    )
    assert shown_by_fields(e.StepDone("stop", ())) == ""


def test_the_readmes_rehearsal_is_what_the_program_prints(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The call that it shows with the answers that it names; its lines are among those printed, in their order."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    call, _, shown = readme.split("$ layup rehearse ", 1)[1].split("\n```", 1)[0].partition("\n")
    answers = re.findall(r"`(\w+: \[[^`]*\])`", readme.split("$ layup rehearse ", 1)[0].rsplit("**Rehearse it**", 1)[1])
    assert len(answers) == 2
    (tmp_path / "answers.yaml").write_text("\n".join(answers) + "\n", encoding="utf-8")
    with chdir(tmp_path):
        assert main(["rehearse", *call.split()]) == 1
    printed = iter(capsys.readouterr().out.splitlines())
    assert [line for line in shown.splitlines() if line not in printed] == []
