"""Parts in a machine sheet: old numbers, and how rubber ages; what is wrong is told with its line and what to write."""

from __future__ import annotations

import pytest

from assistant.core.labels.check_digit import gtin14
from assistant.core.machine import SealLife
from assistant.core.problems import FileProblems
from assistant.files.sheet_file import read_sheet

HEAD = "model: Test 3\nfor: test engine\nparts:\n"


@pytest.mark.parametrize(
    ("part", "superseded", "seal"),
    [
        ("{say: ring, numbers: [R1]}", (), None),
        ("{say: ring, numbers: [R1], superseded: [R0, '2990001000506']}", ("R0", "2990001000506"), None),
        ("{say: ring, numbers: [R1], seal: {polymer: NBR, by: iso2230}}", (), SealLife("iso2230", "NBR")),
        ("{say: ring, numbers: [R1], seal: {polymer: SBR, by: arp5316}}", (), SealLife("arp5316", "SBR")),
        ("{say: ring, numbers: [R1], seal: {years: 10}}", (), SealLife("label", "any", 10)),
    ],
)
def test_a_part_says_what_it_supersedes_and_how_it_ages(
    part: str, superseded: tuple[str, ...], seal: SealLife | None
) -> None:
    """Both are optional."""
    found = read_sheet(f"{HEAD}  ring: {part}\n", "a.yaml").parts["ring"]
    assert (found.superseded, found.seal) == (superseded, seal)
    assert all(isinstance(gtin14(old), str) for old in found.superseded if old.isdigit())


@pytest.mark.parametrize(
    ("part", "what"),
    [
        ("{say: ring, numbers: [R1], superseded: [r1]}", "'r1' is both right and superseded"),
        ("{say: ring, numbers: [R1], seal: {polymer: XXX, by: iso2230}}", "'polymer' is 'XXX', and must be one of"),
        ("{say: ring, numbers: [R1], seal: {polymer: NR, by: arp5316}}", "'polymer' is 'NR', and must be one of"),
        ("{say: ring, numbers: [R1], seal: {polymer: NBR, by: shop}}", "'shop' is no rule for seals"),
        ("{say: ring, numbers: [R1], seal: {polymer: NBR}}", "a seal ages by one rule"),
        ("{say: ring, numbers: [R1], seal: {by: iso2230, years: 5}}", "a seal ages by one rule"),
        ("{say: ring, numbers: [R1], seal: {years: 0}}", "no whole number from 1 to 50"),
        ("{say: ring, numbers: [R1], seal: {age: 5}}", "has no key 'age'"),
    ],
)
def test_what_is_wrong_with_a_part_is_told(part: str, what: str) -> None:
    """With the file and the line."""
    with pytest.raises(FileProblems) as caught:
        read_sheet(f"{HEAD}  ring: {part}\n", "a.yaml")
    assert what in str(caught.value)
    assert "a.yaml:4" in str(caught.value)
