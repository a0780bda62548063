"""A newcomer who follows procedures/README.md to the letter has a proved procedure of ten steps, and sees what it shows."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.files.procedure_file import load_procedure
from tests.walk_through import follow

GUIDE = (Path(__file__).parents[1] / "procedures" / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("newcomer")


@pytest.fixture(scope="module")
def followed(folder: Path) -> list[tuple[str, str, str]]:
    return follow(GUIDE, folder)


def test_every_command_prints_what_the_page_shows(followed: list[tuple[str, str, str]]) -> None:
    assert len(followed) >= 6
    assert [(command, came) for command, _, came in followed] == [(command, shown) for command, shown, _ in followed]


def test_what_the_newcomer_then_has_is_a_procedure_of_ten_steps(
    followed: list[tuple[str, str, str]], folder: Path
) -> None:
    procedure = load_procedure(folder / "washer.yaml")
    assert len(procedure.steps) == 10
    assert any("proved" in came for _, _, came in followed)


def test_the_page_shows_a_fault_found_and_slips_told(followed: list[tuple[str, str, str]]) -> None:
    """The guide is no sunny walk: one unsafe draft and one with slips stand in it."""
    printed = "\n".join(came for _, _, came in followed)
    assert "not safe" in printed
    assert "did you mean" in printed


def test_every_shipped_file_stands_in_the_pages_table() -> None:
    here = Path(__file__).parents[1] / "procedures"
    assert [path.name for path in here.glob("*.yaml") if f"({path.name})" not in GUIDE] == []
