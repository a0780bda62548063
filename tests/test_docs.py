"""README.md and DEVELOPERS.md say what the program does: nothing lacks, nothing named in them is gone."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from dataclasses import fields
from datetime import date
from pathlib import Path

import pytest
import yaml

from assistant.bench.listening import parse_words
from assistant.bench.proving import prove_file
from assistant.cli import main
from assistant.core.speech import commands
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.number_words import READ_BACK
from assistant.core.speech.unit_words import SAID
from assistant.core.speech.wording import VERDICTS, ask_reading
from assistant.core.units import SPOKEN
from assistant.files.work import Work, read_work
from assistant.settings import Settings

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
TODAY = date(2026, 11, 25)
TRANSCRIPT = re.findall(r"^( *)(assistant|technician|kept)  (.+)$", README, re.MULTILINE)


def shipped() -> Work:
    """The shipped procedure on the demo's machine in the demo's shop."""
    folder = ROOT / "procedures"
    return read_work(folder / "pwc-off-season.yaml", folder / "tern-3.sheet.yaml", folder / "our-shop.site.yaml")


def sections(text: str) -> dict[str, str]:
    """Heading -> what stands under it."""
    parts = re.split(r"^#+ (.+)$", text, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def table(text: str) -> list[list[str]]:
    """The cells of the rows of a table, without its head."""
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("|")]
    return [row for row in rows if not set("".join(row)) <= set("-: ")][1:]


@pytest.fixture
def subcommands(capsys: pytest.CaptureFixture[str]) -> set[str]:
    """What the program answers to, by its own help."""
    with pytest.raises(SystemExit):
        main(["--help"])
    return set(re.findall(r"^    (\w+) ", capsys.readouterr().out, re.MULTILINE))


def test_every_command_is_described(subcommands: set[str]) -> None:
    """The table of commands has each command of the program, and no other."""
    rows = table(sections(README)["Commands"])
    assert len(subcommands) >= 12
    assert {row[0].strip("`").removeprefix("layup ") for row in rows} == subcommands


@pytest.mark.parametrize("line", re.findall(r"layup [a-z][^\n`]*", README))
def test_every_call_is_one_the_program_knows(line: str, subcommands: set[str]) -> None:
    """Whatever the README calls `layup` with is a command of it."""
    assert line.split()[1] in subcommands


def test_every_command_word_is_described() -> None:
    """The table of what the technician says has each command word, and no other."""
    rows = [row for row in table(sections(README)["What the technician says"]) if row[0].startswith("*")]
    assert {row[0].strip("*") for row in rows} == set(commands.BY_NAME)


def test_every_setting_is_described() -> None:
    """The table of settings has each key with what it is if left out, and no other."""
    rows = table(sections(README)["Settings"])
    said = {row[0].strip("`"): tomllib.loads(f"x = {row[1].strip('`')}")["x"] for row in rows}
    assert said == {f.name: f.default for f in fields(Settings)}


NUMBER_ROWS = [row for row in table(sections(README)["What the technician says"]) if row[0].startswith("`")]


@pytest.mark.parametrize(("step", "said", "kept"), NUMBER_ROWS, ids=[row[1] for row in NUMBER_ROWS])
def test_numbers_mean_what_the_table_says(step: str, said: str, kept: str) -> None:
    """Each way to say a number is kept as the README has it."""
    row = parse_words(shipped(), step.strip("`"), said, TODAY)
    [reading] = row["readings"]
    assert f"{reading['value']} {reading['unit']}" == kept


def procedure_lines(work: Work) -> Iterator[str]:
    """All that the assistant says straight from the procedure."""
    for step in work.procedure.steps:
        yield step.say
        yield from (f"Caution. {caution} Roger?" for caution in step.cautions)
        for reading in step.readings:
            yield from (ask_reading(reading, at) for at in reading.positions or (None,))


def templates() -> Iterator[re.Pattern[str]]:
    """Every sentence in the program's wording, with anything where it fills something in."""
    for path in (ROOT / "assistant/core").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            parts = node.values if isinstance(node, ast.JoinedStr) else [node]
            fixed = [p.value if isinstance(p, ast.Constant) and isinstance(p.value, str) else None for p in parts]
            if sum(len(re.findall("[A-Za-z]", text)) for text in fixed if text) >= 6:
                yield re.compile("".join(".*" if text is None else re.escape(text) for text in fixed))
    for sentence in ENGLISH.phrases.values():
        fixed = re.split(r"\{\w+\}", sentence)
        if sum(len(re.findall("[A-Za-z]", text)) for text in fixed) >= 6:
            yield re.compile(".*".join(map(re.escape, fixed)))


def read_back_words() -> set[str]:
    """The words of which a value read back is made."""
    units = " ".join((*SPOKEN.values(), *VERDICTS.values())).split()
    return {*READ_BACK, "decimal", "minus", "cylinder", "from", "to", "at", "least", "most", *units}


def known_line(text: str, from_procedure: set[str], known: list[re.Pattern[str]]) -> bool:
    """Is it a line of the procedure, made of read-back words, or one of the program's sentences."""
    words = set(re.findall(r"[A-Za-z]+", text.removeprefix("Correction, ").removesuffix(" Affirm?")))
    return text in from_procedure or words <= read_back_words() or any(t.fullmatch(text) for t in known)


def test_the_transcript_is_the_programs_own() -> None:
    """Each line that the README lets the assistant say stands in the procedure or in the program's wording."""
    from_procedure, known = set(procedure_lines(shipped())), list(templates())
    lines = [text for _, who, text in TRANSCRIPT if who == "assistant"]
    assert len(lines) >= 10
    assert [text for text in lines if not known_line(text, from_procedure, known)] == []


@pytest.mark.parametrize("text", ["Please torque the bolts.", "one niner zero P S I, splendid.", "Caution. Roger?"])
def test_other_lines_would_be_found(text: str) -> None:
    """A sentence that the program never says is told from its own."""
    assert not known_line(text, set(procedure_lines(shipped())), list(templates()))


def test_the_transcripts_steps_are_the_procedures() -> None:
    """Step numbers and titles of the transcript are those of the shipped procedure."""
    steps = shipped().procedure.steps
    found = re.findall(r"^-- step (\d+) of (\d+): (.+)$", README, re.MULTILINE)
    assert found
    assert found == [(n, str(len(steps)), steps[int(n) - 1].title) for n, _, _ in found]


def test_the_example_procedure_is_proved(tmp_path: Path) -> None:
    """The README's example procedure and sheet are well formed, and safe in every order of answers."""
    texts = re.findall(r"```yaml\n(.*?)```", README, re.DOTALL)
    assert len(texts) == 2
    procedure, sheet = tmp_path / "example.yaml", tmp_path / "example.sheet.yaml"
    for path, text in zip((procedure, sheet), texts, strict=True):
        path.write_text(text, encoding="utf-8")
        assert isinstance(yaml.safe_load(text), dict)
    proof = prove_file(procedure, sheet, None)
    assert proof.ok, proof.text()


LINKS = [target for text in (README, DEVELOPERS) for target in re.findall(r"\]\(([^)#]+)\)", text)]


@pytest.mark.parametrize("target", sorted(set(LINKS)))
def test_links_lead_somewhere(target: str) -> None:
    """Every link and picture is a file of the project: nothing is fetched from elsewhere."""
    assert (ROOT / target).is_file()


PATH = re.compile(r"`((?:assistant|tests|demo|procedures|models)/[\w./-]+|\w+\.(?:md|toml))`")
MADE_LATER = {"demo/out", "layup.toml"}
NAMED = {path.rstrip("/") for text in (README, DEVELOPERS) for path in PATH.findall(text)} - MADE_LATER


@pytest.mark.parametrize("path", sorted(NAMED))
def test_every_file_that_is_named_exists(path: str) -> None:
    """A file or folder named in either page is there."""
    assert (ROOT / path).exists() or path == "manifest.csv"


def test_the_rooms_are_the_layers() -> None:
    """The rooms of DEVELOPERS.md are import-linter's layers, top down."""
    [contract] = [c for c in PROJECT["tool"]["importlinter"]["contracts"] if c["type"] == "layers"]
    layers = [room.strip() for layer in contract["layers"] for room in layer.split("|")]
    rows = table(sections(DEVELOPERS)["The rooms, and the one way"])
    assert [row[0].strip("`") for row in rows] == layers


def test_the_drawing_has_every_room() -> None:
    """The drawn rooms are those of the table."""
    drawn = set(
        re.findall(r"^\s+(\w+)(?:\[.*?\])? --> (\w+)", sections(DEVELOPERS)["The rooms, and the one way"], re.MULTILINE)
    )
    rows = table(sections(DEVELOPERS)["The rooms, and the one way"])
    assert {room for pair in drawn for room in pair} == {row[0].strip("`").removeprefix("assistant.") for row in rows}


def test_every_word_of_a_unit_belongs_to_a_unit() -> None:
    """No unit is said that is not on the list of units."""
    assert set(SAID) <= set(SPOKEN)


MODULES = [p for p in (ROOT / "assistant").rglob("*.py") if p.name != "__init__.py"]


@pytest.mark.parametrize("path", MODULES, ids=[str(p.relative_to(ROOT)) for p in MODULES])
def test_every_module_says_what_it_is_for(path: Path) -> None:
    """A module opens with what it is for."""
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))


def test_no_place_is_left_open() -> None:
    """Nothing in the pages waits to be filled in."""
    assert not re.search(r"TODO|FIXME|TBD|_PLACE", README + DEVELOPERS)


def test_the_readmes_figure_is_what_the_program_prints(capsys: pytest.CaptureFixture[str]) -> None:
    """The call that it shows, and every line of the answer."""
    shown = README.split("$ layup figure ", 1)[1].split("\n```", 1)[0]
    call, _, answer = shown.partition("\n")
    assert main(["figure", *call.split()]) == 0
    assert capsys.readouterr().out.strip() == answer
