"""The risk of a vocabulary: what sounds alike and leads elsewhere is told before anyone speaks."""

from __future__ import annotations

from decimal import Decimal

from assistant.core.procedure import Choice, Limit, Reading
from assistant.core.speech import commands
from assistant.core.speech.expectation import Asked, Expectation
from assistant.core.speech.risks import WORTH_TELLING, Risk, risks
from assistant.core.units import Amount

COMPRESSION = Reading(
    "compression",
    "Compression",
    unit="psi",
    plausible=(Decimal(60), Decimal(300)),
    each="cylinder",
    positions=(1, 2),
    limits=(Limit("at_least", low=Amount(Decimal(170), "psi")),),
)
PLUG = Reading(
    "plug",
    "Plug",
    kind="choice",
    choices=(Choice("good", ("good", "brown")), Choice("wet", ("wet",), False), Choice("white", ("white",), False)),
)


def told(*asked: Asked, names: tuple[str, ...] = commands.IN_STEP) -> dict[tuple[str, str], Risk]:
    """The risks of a moment by their words."""
    found = risks(Expectation(names, asked))
    assert [r.distance for r in found] == sorted(r.distance for r in found)
    assert all(r.distance <= WORTH_TELLING and r.leads[0] != r.leads[1] for r in found)
    return {(r.said, r.other): r for r in found}


def test_number_words_come_with_values_that_the_limit_parts() -> None:
    """Fifteen and fifty are told with two readings, one within the limit and one out of it."""
    risk = told(Asked(COMPRESSION, 1))["eighteen", "eighty"]
    assert risk.turns
    low, high = (Decimal(example.removesuffix(" psi")) for example in risk.examples)
    assert low < 170 <= high
    assert risk.leads == (f"compression {low} psi", f"compression {high} psi")


def test_number_words_that_cannot_stand_for_each_other_are_not_told() -> None:
    """Between 60 and 69 no ten can be taken for a teen."""
    narrow = Reading("idle", "Idle", unit="psi", plausible=(Decimal(60), Decimal(69)))
    assert not {("fifteen", "fifty"), ("sixteen", "sixty")} & set(told(Asked(narrow)))
    assert ("five", "nine") in told(Asked(narrow))


def test_a_reading_that_must_be_named_is_looked_at_by_its_name() -> None:
    """Its name, and the place where one must be said, stand before the number."""
    assert ("fifteen", "fifty") in told(Asked(COMPRESSION, None, unnamed=False))


def test_a_reading_without_limits_turns_nothing() -> None:
    """Where nothing is compared, no pair turns a verdict."""
    free = Reading("hours", "Hours", unit="h", plausible=(Decimal(0), Decimal(999)))
    assert not any(risk.turns for risk in told(Asked(free)).values())


def test_choices_and_commands() -> None:
    """Two answers, and an everyday word and a command, that sound alike; a command's other form is no risk."""
    found = told(Asked(PLUG))
    assert found["wet", "white"].leads == ("plug wet", "plug white")
    assert found["no", "note"].leads == ("means nothing", "command note")
    assert ("affirm", "affirmative") not in told(names=commands.TO_QUESTION)


def test_words_of_a_code_and_of_a_date() -> None:
    """Letters of the alphabet are far apart, as they were chosen to be; thirteenth and thirtieth are not."""
    code = Reading("lot", "Lot", kind="letters")
    day = Reading("packed", "Packed", kind="date")
    alphabet = {w for pair in told(Asked(code)) for w in pair if w in ("alfa", "bravo", "charlie", "delta", "echo")}
    assert not alphabet
    assert ("thirteenth", "thirtieth") in told(Asked(day))


def test_a_shop_s_own_words() -> None:
    """A renamed command is looked at under its new words; one without a pronunciation is like nothing."""
    renamed = Expectation(("done", "stop"), (), renamed=(("done", ("top",)), ("stop", ("frobnicate",))))
    assert [(r.said, r.other) for r in risks(renamed)] == []
    shop = Expectation(("done", "stop"), (), renamed=(("done", ("top",)),))
    assert [(r.said, r.other) for r in risks(shop)] == [("top", "stop")]
