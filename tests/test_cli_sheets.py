"""`layup sheet new` and `layup sheet check`, with answers from standard input; `layup prove` tells a sheet's questions."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.files.sheet_file import load_sheet
from assistant.files.yaml_fields import amount_from
from tests.conversation import TABLES

ROOT = Path(__file__).parent.parent
SHORT = str(TABLES / "short.yaml")
HEAD = ["Gull 2", "Gull 2 manual, edition 2", "Ada Lind"]
ANSWERS = [
    *HEAD,
    "3", "1-4",  # cylinders
    "175 psi", "6-8",  # compression_least
    "215 psi", "6-8",
    "12.4 V", "8-2",
    "2990001000117, T3-2040", "", "",  # the filter: called as its role, one
    "T3-1142", "drain plug washer", "2",
]  # fmt: skip

New = Callable[..., str]


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    return tmp_path / "gull.sheet.yaml"


@pytest.fixture
def new(sheet: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> New:
    """`layup sheet new` for the short job with these answers; what it told."""

    def call(*answers: str, procedure: str = SHORT, status: int = 0) -> str:
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{answer}\n" for answer in answers)))
        assert main(["sheet", "new", procedure, "-o", str(sheet)]) == status
        out = capsys.readouterr()
        return out.out + out.err

    return call


def test_a_sheet_is_made_by_answering(new: New, sheet: Path) -> None:
    """Every number, count and part that the job wants, each with its page, name and day; then nothing is missing."""
    told = new(*ANSWERS)
    assert "nothing is missing that 'short' wants" in told
    made = load_sheet(sheet)
    assert (made.model, made.machine_class, made.manual) == ("Gull 2", "test engine", "Gull 2 manual, edition 2")
    assert made.counts == {"cylinder": 3}
    least = made.values["compression_least"]
    assert (least.amount, least.source) == (amount_from("175 psi"), "Gull 2 manual, edition 2, page 6-8")
    assert (least.by, least.on) == ("Ada Lind", date.today())
    assert made.parts["oil_filter"].gtins == ("2990001000117",)
    assert made.parts["oil_filter"].numbers == ("T3-2040",)
    assert (made.parts["washer"].say, made.parts["washer"].quantity) == ("drain plug washer", 2)
    assert "# used in: Compression\n" in sheet.read_text(encoding="utf-8")
    assert main(["prove", SHORT, "--machine", str(sheet)]) == 0


def test_it_says_what_each_number_is_for(new: New) -> None:
    """The kind, the units that fit with the customary one first, and the steps."""
    told = new(*HEAD)
    assert "[1 of 6] cylinder: how many the machine has\n  used in: Compression" in told
    told = new("", "")
    assert "compression_least: a pressure, in psi or kPa or bar or MPa\n  used in: Compression" in told


@pytest.mark.parametrize("cut", range(len(ANSWERS)))
def test_broken_off_anywhere_it_goes_on(cut: int, new: New, sheet: Path) -> None:
    """The answers stop after any of them: what was settled is in the file, and the next call asks only for the rest."""
    whole_file = sheet.with_name("whole.sheet.yaml")
    new(*ANSWERS)
    whole = sheet.rename(whole_file).read_text(encoding="utf-8")
    told = new(*ANSWERS[:cut])
    if cut < len(HEAD):
        assert not sheet.exists()
        assert "is as it was" in told
        return
    assert "still missing: " in told
    settled = (3, 5, 7, 9, 11, 14, 17)  # answers after which one more thing is whole
    done = max(n for n in settled if n <= cut)
    new(*ANSWERS[done:])
    assert sheet.read_text(encoding="utf-8") == whole


def test_what_is_left_empty_stays_missing(new: New, sheet: Path) -> None:
    """And is asked for again the next time."""
    told = new(*HEAD, "", "", "215 psi", "6-8", "", "", "")
    assert "still missing: count of cylinder, compression_least, battery_least, part oil_filter, part washer" in told
    assert set(load_sheet(sheet).values) == {"compression_most"}
    assert "[1 of 5] cylinder" in new()


WRONG = [
    ("175", "'175' has no unit"), ("175 bars", "the unit 'bars' is not on the list: did you mean 'bar'?"),
    ("175 Nm", "175 N\u00b7m is a torque, and must be a pressure"), ("about 175 psi", "the unit '175 psi' is not on the list"),
    ("1e2 psi", "'1e2' is not a plain decimal number"), ("5 gallons", "may mean two things"),
]  # fmt: skip


@pytest.mark.parametrize(("answer", "why"), WRONG)
def test_an_answer_that_does_not_fit_is_told_and_asked_again(answer: str, why: str, new: New, sheet: Path) -> None:
    """At once; the right one is then taken."""
    told = new(*HEAD, "", answer, "175 psi", "6-8")
    assert why in told
    assert load_sheet(sheet).values["compression_least"].amount == amount_from("175 psi")


@pytest.mark.parametrize(
    ("page", "why"),
    [
        ("page 6-8", "'page 6-8' is more than a page"),
        ("\u00a7 4", "a source is said aloud"),
        ("", "left out: a number needs its page"),
    ],
)
def test_a_number_without_a_page_that_can_be_said_is_not_taken(page: str, why: str, new: New, sheet: Path) -> None:
    """It is told why."""
    assert why in new(*HEAD, "", "175 psi", page)
    assert "compression_least" not in load_sheet(sheet).values


def test_a_number_of_no_manual(new: New, sheet: Path) -> None:
    """From a label; a count that was seen on the machine comes from nowhere else."""
    new(*HEAD, "3", "", "175 psi", "from plate on the engine")
    found = load_sheet(sheet)
    assert found.values["compression_least"].source == "plate on the engine"
    assert found.counts == {"cylinder": 3}
    assert not found.counted


def test_a_number_that_may_be_a_slip_is_asked_about_at_once(new: New, sheet: Path) -> None:
    """With the reason; it is entered again, or kept with why it is right, which the check shows."""
    told = new(*HEAD, "", "175 bar", "6-8", "", "175 psi", "6-8", "100 psi", "6-8", "read twice")
    assert "question: 175 bar is 2538 psi, outside of 60 psi to 300 psi" in told
    assert "question: compression_least is 175 psi, more than compression_most, 100 psi" in told
    values = load_sheet(sheet).values
    assert values["compression_least"].amount == amount_from("175 psi")
    assert (values["compression_most"].amount, values["compression_most"].checked) == (
        amount_from("100 psi"),
        "read twice",
    )


def test_a_torque_may_say_its_fastener(new: New, sheet: Path, tmp_path: Path) -> None:
    """66 lbf.ft on an M6 of class 8.8 are questioned; a thread that no table has is told."""
    text = (
        (TABLES / "short.yaml")
        .read_text("utf-8")
        .replace("say: Look at the battery.", "say: Tighten to {clamp_torque}.")
    )
    text = text.replace(
        "unit: V, plausible: [0, 20], places: 1, limits: [{at_least: battery_least}]",
        "unit: Nm, plausible: [0, 200], limits: [{at_least: clamp_torque}]",
    )
    (tmp_path / "p.yaml").write_text(text, "utf-8")
    answers = ["9 Nm", "9-9", "M7 8.8", "66 lbf_ft", "9-9", "M6 8.8", "", "66 lbf_in", "9-9", "M6 8.8"]
    told = new(*HEAD, "", "", "", *answers, procedure=str(tmp_path / "p.yaml"))
    assert "no strength is known for the thread 'M7'" in told
    assert "66 lbf\u00b7ft on an M6 of class 8.8" in told
    found = load_sheet(sheet).values["clamp_torque"]
    assert (found.amount, found.thread, found.property_class) == (amount_from("66 lbf_in"), "M6", "8.8")


def test_a_wrong_check_digit_is_told(new: New, sheet: Path) -> None:
    """It is read from the label again."""
    assert "'2990001000118' is no GTIN" in new(*HEAD, "", "", "", "", "2990001000118", "2990001000117", "", "")
    assert load_sheet(sheet).parts["oil_filter"].gtins == ("2990001000117",)


def test_another_day_another_hand(new: New, sheet: Path) -> None:
    """A sheet that somebody began goes on under the name and the day of who goes on; what stands there stays as it is."""
    old = "# by hand\nmodel: Gull 2\nfor: test engine\nmanual: Gull 2 manual\nentered: {by: Kim, on: 2020-01-02}\n"
    old += "counts: {cylinder: 3} # seen\nvalues:\n"
    sheet.write_text(f"{old}  battery_least: {{is: 12.4 V, page: 8-2}}   # AGM\n", "utf-8")
    new("Ada Lind", "175 psi", "6-8", "", "", "")
    found = load_sheet(sheet)
    assert (found.values["battery_least"].by, found.values["battery_least"].on) == ("Kim", date(2020, 1, 2))
    assert (found.values["compression_least"].by, found.values["compression_least"].on) == ("Ada Lind", date.today())
    assert sheet.read_text("utf-8").startswith(f"{old}  battery_least: {{is: 12.4 V, page: 8-2}}   # AGM\n")


def test_what_cannot_be_gone_on_with_is_told(new: New, sheet: Path) -> None:
    """A sheet at fault, one for other machines, one whose text no line can be put into: it stands as it was."""
    sheet.write_text("model: [G\n", "utf-8")
    assert f"{sheet}:2:1: this is not YAML" in new(status=1)
    head = "model: G\nfor: {}\nmanual: M\nentered: {{by: Kim, on: 2020-01-02}}\n"
    sheet.write_text(head.format("mower"), "utf-8")
    assert "this sheet is for 'mower', the procedure for 'test engine'" in new(status=2)
    for odd in (
        "{model: G, for: test engine, manual: M, entered: {by: Kim, on: 2020-01-02}}\n",
        head.format("test engine") + "...\n",
    ):
        sheet.write_text(odd, "utf-8")
        assert "no line can be put into 'counts'" in new(status=2)
        assert sheet.read_text("utf-8") == odd


def check(capsys: pytest.CaptureFixture[str], *args: str, status: int) -> str:
    assert main(["sheet", "check", *args]) == status
    return capsys.readouterr().out


def test_a_sheet_is_checked(capsys: pytest.CaptureFixture[str]) -> None:
    """What it holds and who entered it; with the procedure, that nothing is missing."""
    told = check(capsys, "tern-3", "--procedure", "pwc-off-season", status=0)
    assert "Tern 3: 32 numbers, 2 counts, 7 parts, entered by Ada Lind on 2026-10-30; no questions" in told
    assert "missing" not in told


def slip(tmp_path: Path, *changes: tuple[str, str]) -> str:
    """The short job's sheet, changed."""
    text = (TABLES / "short.sheet.yaml").read_text("utf-8")
    for old, by in changes:
        assert old in text
        text = text.replace(old, by)
    (tmp_path / "s.sheet.yaml").write_text(text, "utf-8")
    return str(tmp_path / "s.sheet.yaml")


def test_questions_are_told_and_their_answers_shown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With file and line; neither is a fault. An answer that stands in the sheet is shown in the place of the question."""
    asks = slip(tmp_path, ("12.4 V", "24.8 V"))
    told = check(capsys, asks, status=0)
    assert f"{asks}:10: question: battery_least: 24.8 V is outside of 5 V to 17 V" in told
    assert "add 'checked: why'" in told
    assert "; 1 question" in told
    answered = slip(tmp_path, ("12.4 V", "24.8 V, checked: two batteries in a row"))
    told = check(capsys, answered, status=0)
    assert "question:" not in told
    assert "checked: two batteries in a row" in told


def test_proving_tells_the_questions_of_the_sheet(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """And proves all the same."""
    asks = slip(tmp_path, ("215 psi", "350 psi"))
    assert main(["prove", SHORT, "--machine", asks]) == 0
    told = capsys.readouterr().out
    assert "question: compression_most: 350 psi is outside of 60 psi to 300 psi" in told
    assert "proved" in told
    answered = slip(tmp_path, ("215 psi", "350 psi, checked: as printed"))
    assert main(["prove", SHORT, "--machine", answered]) == 0
    assert "question" not in capsys.readouterr().out


def test_what_is_missing_or_wrong_is_a_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Missing names are told together; what does not fit the procedure with its line; a broken file as such."""
    lacking = slip(tmp_path, ("  battery_least: {is: 12.4 V, page: 2}\n", ""), ("cylinder: 3", "bolt: 3"))
    assert "missing: count of cylinder, battery_least" in check(capsys, lacking, "--procedure", SHORT, status=1)
    other = slip(tmp_path, ("12.4 V", "12 psi"))
    assert "12 psi is a pressure, the reading a voltage" in check(capsys, other, "--procedure", SHORT, status=1)
    broken = slip(tmp_path, ("12.4 V", "12.4 volt"))
    assert "the unit 'volt' is not on the list" in check(capsys, broken, status=1)
    assert main(["sheet", "check", str(tmp_path / "none.yaml")]) == 2


def test_what_is_looked_up_in_the_bay_is_no_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A sheet that says `look_up: yes` may lack numbers: they are named by check, prove and run; counts and parts are not."""
    lacking = slip(tmp_path, ("  battery_least: {is: 12.4 V, page: 2}\n", ""), ("counts:", "look_up: yes\ncounts:"))
    named = "not in the sheet, looked up in the bay: battery_least"
    assert f"{lacking}: {named}" in check(capsys, lacking, "--procedure", SHORT, status=0)
    assert main(["prove", SHORT, "--machine", lacking]) == 0
    told = capsys.readouterr().out
    assert f"{lacking}: warning: {named}" in told
    assert "proved: 12 steps" in told
    both = slip(tmp_path, ("  battery_least: {is: 12.4 V, page: 2}\n", ""), ("counts: {cylinder: 3}", "look_up: yes"))
    told = check(capsys, both, "--procedure", SHORT, status=1)
    assert "missing: count of cylinder\n" in told
    assert named in told


def test_a_new_sheet_leaves_to_the_bay_what_is_left_empty(new: New, sheet: Path) -> None:
    """It says so, in the file and at the end."""
    assert "numbers that are left out are looked up in the bay" in new(*HEAD, "3", "1-4", "175 psi", "6-8")
    assert load_sheet(sheet).look_up
