"""The compression test with oil: what a rise, no rise, or something between suggests."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.core.trade.compression import CRANKING
from assistant.core.trade.wet_test import AGAIN, BETWEEN, NOT_LOW, OIL, RINGS, VALVES, wet_test
from assistant.core.units import Amount, convert


def psi(*numbers: str) -> tuple[Amount, ...]:
    return tuple(Amount(Decimal(number), "psi") for number in numbers)


def counts(*numbers: str) -> tuple[Amount, ...]:
    return tuple(Amount(Decimal(number), "count") for number in numbers)


# reference.md 7.4, TM 10-3930-647-14&P: 10 lb or more -> rings or bore, no rise -> valves; between them no source
RISES = [
    ("92", "102", RINGS, None),
    ("92", "101.99", BETWEEN, "unsure"),
    ("92", "92.01", BETWEEN, "unsure"),
    ("92", "92", VALVES, None),
    ("92", "82.01", VALVES, None),
    ("92", "82", AGAIN, "unsure"),
    ("0", "0", VALVES, None),
    ("92", "140", RINGS, None),
]


@pytest.mark.parametrize(("dry", "wet", "suggests", "verdict"), RISES)
def test_a_low_cylinder_by_its_rise(dry: str, wet: str, suggests: str, verdict: str | None) -> None:
    """Each boundary and a hair to either side; by itself, and as the low one of four."""
    alone = wet_test(dry=psi(dry), wet=psi(wet))
    assert (alone.answer, alone.verdict) == (f"cylinder 1: {suggests}", verdict)
    assert alone.beside == (("cylinder_1", suggests),)
    of_four = wet_test(dry=psi("120", "115", "118", dry), wet=psi(wet), cylinders=counts("4"))
    assert (of_four.answer, of_four.verdict) == (f"cylinder 4: {suggests}", verdict)


@pytest.mark.parametrize("unit", ["kPa", "bar"])
@pytest.mark.parametrize(("dry", "wet", "suggests", "verdict"), RISES)
def test_the_ten_psi_hold_in_every_unit(dry: str, wet: str, suggests: str, verdict: str | None, unit: str) -> None:
    """The boundaries stay where they are when the gauge shows another unit."""
    figure = wet_test(dry=(convert(*psi(dry), unit),), wet=(convert(*psi(wet), unit),))
    assert (figure.answer, figure.verdict) == (f"cylinder 1: {suggests}", verdict)


def test_a_cylinder_that_was_not_low_has_nothing_to_explain() -> None:
    """TM 10-3930-618-20: again with oil where more than 10 psi below the highest; oil raises a good cylinder too."""
    figure = wet_test(dry=psi("120", "110", "118"), wet=psi("135", "125", "118"))
    assert (figure.answer, figure.verdict) == (NOT_LOW, None)
    assert figure.beside == (("cylinder_1", NOT_LOW), ("cylinder_2", NOT_LOW), ("cylinder_3", NOT_LOW))
    figure = wet_test(dry=psi("120", "109", "118"), wet=psi("135", "125", "118"))
    assert figure.answer == "cylinder 2: rings or bore"
    assert figure.beside[0] == ("cylinder_1", NOT_LOW)


def test_two_neighbours_that_do_not_rise_point_at_the_gasket() -> None:
    """reference.md 7.4: two neighbours low -> head gasket; that oil does not raise them is from memory."""
    dry = psi("120", "80", "82", "118")
    assert wet_test(dry=dry, wet=psi("80", "81"), cylinders=counts("2", "3")).answer == (
        "cylinder 2: valves; cylinder 3: valves; cylinders 2 and 3: neither rises, perhaps the head gasket between them"
    )
    assert wet_test(dry=dry, wet=psi("95", "81"), cylinders=counts("2", "3")).answer == (
        "cylinder 2: rings or bore; cylinder 3: valves"
    )
    assert wet_test(dry=psi("80", "120", "82"), wet=psi("80", "82"), cylinders=counts("1", "3")).answer == (
        "cylinder 1: valves; cylinder 3: valves"
    )
    assert "gasket" not in str(wet_test(dry=dry, wet=psi("95", "97"), cylinders=counts("2", "3")).answer)


def test_the_order_in_which_they_are_tested_does_not_matter() -> None:
    """Cylinder 3 before cylinder 2, each with its own reading."""
    figure = wet_test(dry=psi("120", "80", "82", "118"), wet=psi("81", "95"), cylinders=counts("3", "2"))
    assert figure.beside == (("cylinder_3", VALVES), ("cylinder_2", RINGS))


def test_a_low_one_left_out_is_said() -> None:
    """The caution names each; none where all were tested."""
    dry = psi("120", "80", "118", "90")
    left = wet_test(dry=dry, wet=psi("95"), cylinders=counts("2"))
    assert left.cautions[0] == "Cylinder 4 was low too, and has no reading with oil."
    assert left.cautions[1:] == (
        *OIL,
        "Order: neighbours are the ones side by side: of a V engine give one bank at a time.",
        *CRANKING,
    )
    assert wet_test(dry=dry, wet=psi("95", "90"), cylinders=counts("2", "4")).cautions[0] == OIL[0]


def test_the_working_can_be_followed() -> None:
    """Dry, wet and difference for each; what ten psi are in the gauge's unit."""
    figure = wet_test(dry=psi("120", "92"), wet=psi("121", "107"))
    assert figure.beside == (("cylinder_1", NOT_LOW), ("cylinder_2", RINGS))
    assert figure.working == (
        "cylinder 1: 120 dry, 121 with oil, 1 psi more",
        "cylinder 2: 92 dry, 107 with oil, 15 psi more",
        "the rules' 10 psi are 10 psi; low is more than that below 120",
    )
    assert figure.sources == (
        "TM 10-3930-647-14&P for what a rise means, unconfirmed",
        "TM 10-3930-618-20 para 2-12 for which to test again",
    )
    kpa = wet_test(dry=(Amount(Decimal(827), "kPa"),), wet=(Amount(Decimal(900), "kPa"),))
    assert kpa.working[-1] == "the rules' 10 psi are 68.948 kPa; low is more than that below 827"


def test_the_words_say_what_is_meant() -> None:
    """What is suggested, what it does not prove, and how liquid breaks an engine."""
    assert (RINGS, VALVES) == ("rings or bore", "valves")
    assert BETWEEN == "unsure, between the rules" and AGAIN == "unsure, lower with oil: test again"
    assert NOT_LOW == "not low, nothing to explain"
    assert "tablespoon" in OIL[0] and "breaks the engine" in OIL[0] and "from memory" in OIL[0]
    assert [text.split()[0] for text in OIL] == ["About", "The"]
    assert "proves nothing" in OIL[1] and "leak-down" in OIL[1]


BAD = [
    (("120", "92"), ("95",), (), "'wet' has 1 readings for 2 cylinders: say which in 'cylinders'"),
    (("120", "92"), ("95",), ("1", "2"), "'wet' has 1 readings for 2 'cylinders'"),
    (("120", "92"), ("95",), ("3",), r"'cylinders' is 3, and must be from 1 to 2 \(as many as are dry\)"),
    (("120", "92"), ("95",), ("0",), "'cylinders' is 0"),
    (("120", "92"), ("95",), ("1.5",), "'cylinders' must be whole numbers, each once"),
    (("120", "92"), ("95", "96"), ("2", "2"), "'cylinders' must be whole numbers, each once"),
    ((), (), (), "'dry' needs at least two readings"),
    (("0", "0"), ("0", "0"), (), "'dry' is 0 throughout"),
    (("1001",), ("95",), (), "'dry' is 1001 psi"),
    (("92",), ("1001",), (), "'wet' is 1001 psi"),
    (("92",), ("-1",), (), "'wet' is -1 psi"),
]


@pytest.mark.parametrize(("dry", "wet", "cylinders", "said"), BAD)
def test_sets_that_do_not_fit_are_refused(
    dry: tuple[str, ...], wet: tuple[str, ...], cylinders: tuple[str, ...], said: str
) -> None:
    """Which input, and what is wrong with it."""
    with pytest.raises(ValueError, match=r"^" + said):
        wet_test(dry=psi(*dry), wet=psi(*wet), cylinders=counts(*cylinders))


@given(st.integers(0, 300), st.integers(0, 300), st.integers(0, 300))
def test_a_greater_rise_never_turns_from_rings_to_valves(dry: int, a: int, b: int) -> None:
    """Monotone: lower with oil, no rise, between, ten psi or more."""
    order = [AGAIN, VALVES, BETWEEN, RINGS]
    less, more = (wet_test(dry=psi(str(dry)), wet=psi(str(wet))).beside[0][1] for wet in sorted((a, b)))
    assert order.index(str(less)) <= order.index(str(more))
