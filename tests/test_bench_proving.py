"""`layup prove`: limits of which nothing says where they come from are told, and stand in no one's way."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.bench.proving import prove_file
from tests.conversation import TABLES

ROOT = Path(__file__).parent.parent
TEXT = (TABLES / "short.yaml").read_text(encoding="utf-8")
SHEET = TABLES / "short.sheet.yaml"


def warned(tmp_path: Path, text: str, *, bound: bool) -> tuple[str, ...]:
    """The warnings, which leave the file proved."""
    path = tmp_path / "p.yaml"
    path.write_text(text, encoding="utf-8")
    proof = prove_file(path, SHEET if bound else None, None)
    assert proof.ok, proof.text()
    assert proof.as_json()["warnings"] == list(proof.warnings)
    assert all(warning in proof.text() for warning in proof.warnings)
    return tuple(warning.removeprefix(str(path)) for warning in proof.warnings)


@pytest.mark.parametrize("bound", [True, False])
def test_a_limit_without_a_source_is_told_with_its_line(tmp_path: Path, bound: bool) -> None:
    """The tools counted back have none; a name brings its page, whether the sheet is there yet or not."""
    line = next(n for n, text in enumerate(TEXT.splitlines(), 1) if "same_as" in text)
    assert warned(tmp_path, TEXT, bound=bound) == (
        f":{line}: warning: a limit of the reading 'tools_back' does not say where it comes from\n"
        "  add 'source: ...'; 'common practice, no source' is one too",
    )


def test_where_every_limit_has_its_source_nothing_is_told(tmp_path: Path) -> None:
    """With a source; or a computation, which brings its rule."""
    text = TEXT.replace("{same_as: tools_out}", "{same_as: tools_out, source: counted}")
    assert warned(tmp_path, text, bound=True) == ()
    rule = "{by: compression_by_rule, with: {rule: lowest_90, pressures: all}}"
    by_rule = text.replace('{spread: 10 percent, source: "common practice, no source"}', rule)
    assert by_rule != text
    assert warned(tmp_path, by_rule, bound=True) == warned(tmp_path, by_rule, bound=False) == ()


def test_an_amount_without_a_source_is_told(tmp_path: Path) -> None:
    """A number written into the procedure, and a date."""
    text = TEXT.replace("{at_least: battery_least}", "{at_least: 12.4 V}")
    assert len(warned(tmp_path, text, bound=True)) == len(warned(tmp_path, text, bound=False)) == 2


def test_the_shipped_procedure_has_a_source_for_every_limit() -> None:
    """Bound to its sheet, and alone."""
    for sheet, site in ((None, None), (ROOT / "procedures/tern-3.sheet.yaml", ROOT / "procedures/our-shop.site.yaml")):
        assert prove_file(ROOT / "procedures/pwc-off-season.yaml", sheet, site).warnings == ()
