"""Hull numbers and vehicle numbers against their rules; sources stand in the tables. Makers and serials are invented."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from label_tables import rows

from assistant.core.events import Label
from assistant.core.labels.faults import LabelFault
from assistant.core.labels.hull_number import LETTERS, HullNumber, read_hull_number
from assistant.core.labels.meaning import read_label
from assistant.core.labels.vehicle_number import CHARACTERS, VehicleNumber, check_digit, read_vehicle_number

TODAY = date(2026, 11, 26)


def told(found: HullNumber | LabelFault) -> str:
    if isinstance(found, LabelFault):
        return f"refused: {found.sentence}"
    if found.doubt:
        return f"doubt: {found.doubt}"
    said = [("country", found.country), ("maker", found.maker), ("serial", found.serial), ("built", found.built)]
    return "; ".join(f"{name} {value}" for name, value in (*said, ("model year", found.model_year)) if value)


@pytest.mark.parametrize("row", rows("hull_numbers.tsv"), ids=lambda r: repr(r["number"]))
def test_a_hull_number_is_read_or_refused_by_the_rule(row: dict[str, str]) -> None:
    """Each format's country, maker, serial, month, year and model year; refusals and doubts beside them."""
    kind, _, piece = row["answer"].partition(": ")
    found = told(read_hull_number(row["number"], TODAY))
    if piece:
        assert found.startswith(kind)
        assert piece in found
    else:
        assert found == row["answer"]


@given(
    st.integers(1985, 2026), st.integers(1, 12), st.text("ABCDEFGHJKLMNPRSTUVWXYZ0123456789", min_size=5, max_size=5)
)
def test_what_the_rule_writes_is_read_back(year: int, month: int, serial: str) -> None:
    """Any month since 1985, in the model year that it belongs to by 33 CFR 175.3, comes back without a doubt."""
    assume((year, month) <= (TODAY.year, TODAY.month))
    model_year = year + (month >= 8)
    number = f"ABC{serial}{LETTERS[month - 1]}{year % 10}{model_year % 100:02}"
    found = read_hull_number(number, TODAY)
    assert isinstance(found, HullNumber)
    assert (found.built, found.model_year, found.doubt) == (f"{year}-{month:02}", model_year, "")


@pytest.mark.parametrize("row", rows("vehicle_numbers.tsv"), ids=lambda r: repr(r["number"]))
def test_a_vehicle_number_is_right_or_wrong_by_the_rule(row: dict[str, str]) -> None:
    """The worked examples of the rule pass, and each of their misreadings fails with a reason."""
    found = read_vehicle_number(row["number"], TODAY)
    if isinstance(found, LabelFault):
        assert row["answer"].startswith("wrong: ")
        assert row["answer"].removeprefix("wrong: ") in found.sentence
    else:
        assert row["answer"] == ("right" if found.checked else "unchecked")


VEHICLE = st.text(CHARACTERS, min_size=17, max_size=17).map(lambda t: t[:8] + check_digit(t) + t[9:])


@given(VEHICLE, st.integers(0, 16), st.sampled_from("0123456789"))
def test_a_wrong_figure_of_a_vehicle_number_shows(number: str, at: int, other: str) -> None:
    """Every weight but that of place 9 has an inverse mod 11, so one figure taken for another always changes the remainder."""
    assume(number[at].isdigit() and number[at] != other and at != 8)
    assert check_digit(number) != check_digit(number[:at] + other + number[at + 1 :])


@pytest.mark.parametrize(
    ("place_10", "today", "years"),
    [("5", 2026, (2005,)), ("A", 2026, (1980, 2010)), ("V", 2026, (1997, 2027)), ("W", 2026, (1998,)), ("0", 2026, ())],
)
def test_a_model_year_comes_round_every_thirty_years(place_10: str, today: int, years: tuple[int, ...]) -> None:
    """49 CFR 565.15, table of place 10: A is 1980 and 2010, 5 is 2005; zero and U, Z are no years."""
    bare = f"1G4AH59H0{place_10}G118341"
    found = read_vehicle_number(bare[:8] + check_digit(bare) + bare[9:], date(today, 1, 1))
    assert isinstance(found, VehicleNumber)
    assert found.model_years == years


@pytest.mark.parametrize(
    ("text", "machine"),
    [
        ("ABC12345C585", "hull number"),
        ("US-ABC12345A626", "hull number"),
        ("1G4AH59H45G118341", "vehicle number"),
        ("ABC12345C583", ""),
        ("12312345C585", ""),
        ("1G4AH59H55G118341", ""),
        ("T3-2040", ""),
        ("11111111111111111", ""),
    ],
)
def test_a_label_of_a_machine_is_told_from_a_part(text: str, machine: str) -> None:
    """Only what is surely such a number: a part number that is merely as long stays a part number."""
    meaning = read_label(Label("CODE-39", text), TODAY)
    assert (meaning.machine, meaning.number) == (machine, text)
    assert bool(meaning.fields) == bool(machine)
