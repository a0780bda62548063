"""How strong a fastener is, how hard it may be stretched, and what torque that takes: an estimate, never a specification.

Tables (reference.md sections 8.2 and 8.3), each as restated by others than its standard: SAE J429 for inch grades, ISO 898-1
for metric property classes with their stress areas and proof loads, nut factors K by the state of the thread.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from assistant.core.trade.figure import Figure, Verdict
from assistant.core.trade.given import above_zero, given
from assistant.core.trade.inputs import Area, Force, Length, Pressure, Share
from assistant.core.trade.reckoning import about, one_of
from assistant.core.trade.rounding import to_figures
from assistant.core.units import Amount, convert

Grade = Literal["1", "2", "5", "5.2", "7", "8", "8.2"]
PropertyClass = Literal["8.8", "10.9", "12.9"]
Thread = Literal["M6", "M8", "M10", "M12"]
Joint = Literal["reused", "permanent"]
Surface = Literal["dry", "oiled", "waxed", "galvanised", "cadmium"]

SAE_J429 = "SAE J429, as restated on a university's course page"
ISO_898 = "ISO 898-1, as restated by suppliers' charts"
ISO_898_SIZES = "ISO 898-1 is for M1.6 to M39 (from memory), and counts 16 mm with the smaller ones (from memory)"
PRELOAD = "75 % of proof load for a fastener used again, 90 % for one that stays: as restated by suppliers"
NUT_FACTOR = "T = K d F, nut factors with a scatter of 25 to 30 %: as restated on a supplier's page"
ESTIMATE = "An estimate: the thread's true friction is not known. The manual's torque goes before it, always."
KEEP_TO_THE_MANUAL = "A strength is no torque: tighten to the manual, and replace by the same grade or class."


@dataclass(frozen=True)
class Strength:
    """Proof, yield and tensile strength in the unit of its table."""

    proof: int
    yielding: int
    tensile: int


QUARTER_INCH, ANY_INCH = Decimal("0.25"), Decimal("1.5")
INCH_GRADES: dict[Grade, tuple[tuple[Decimal, Strength], ...]] = {
    "1": ((ANY_INCH, Strength(33, 36, 60)),),
    "2": ((Decimal("0.75"), Strength(55, 57, 74)), (ANY_INCH, Strength(33, 36, 60))),
    "5": ((Decimal(1), Strength(85, 92, 120)), (ANY_INCH, Strength(74, 81, 105))),
    "5.2": ((Decimal(1), Strength(85, 92, 120)),),
    "7": ((ANY_INCH, Strength(105, 115, 133)),),
    "8": ((ANY_INCH, Strength(120, 130, 150)),),
    "8.2": ((ANY_INCH, Strength(120, 130, 150)),),
}
"""SAE J429: strengths in ksi for sizes from 1/4 inch up to and with the size in inches before them."""
STRONGER_8_8 = Strength(600, 660, 830)
METRIC_CLASSES: dict[PropertyClass, Strength] = {
    "8.8": Strength(580, 640, 800),
    "10.9": Strength(830, 940, 1040),
    "12.9": Strength(970, 1100, 1220),
}
"""ISO 898-1: strengths in MPa; of class 8.8 below `LARGE_8_8`, from which on it is `STRONGER_8_8`."""
LARGE_8_8 = Decimal(16)
STRESS_AREAS: dict[Thread, Decimal] = {
    "M6": Decimal("20.1"),
    "M8": Decimal("36.6"),
    "M10": Decimal("58.0"),
    "M12": Decimal("84.3"),
}
"""mm2, coarse thread."""
PROOF_LOADS: dict[PropertyClass, dict[Thread, int]] = {
    "8.8": {"M6": 11600, "M8": 21200, "M10": 33700, "M12": 48900},
    "10.9": {"M6": 16700, "M8": 30400, "M10": 48100, "M12": 70000},
    "12.9": {"M6": 19500, "M8": 35500, "M10": 56300, "M12": 81800},
}
"""N, coarse thread, as published; within 1 percent of stress area times proof strength."""
JOINT_SHARES: dict[Joint, int] = {"reused": 75, "permanent": 90}
NUT_FACTORS: dict[Surface, Decimal] = {
    "dry": Decimal("0.20"),
    "oiled": Decimal("0.15"),
    "waxed": Decimal("0.10"),
    "galvanised": Decimal("0.25"),
    "cadmium": Decimal("0.12"),
}
SCATTER = Decimal("0.30")
ESTIMATE_FIGURES = 3
LOAD_FIGURES = 4


def strength_inch(*, grade: Grade, diameter: Length) -> Figure:
    """The proof strength in psi of an inch bolt by its grade and size; yield and tensile strength beside it.

    Source: SAE J429, for sizes from 1/4 to 1 1/2 inch (grade 5.2 to 1 inch). Raises ValueError outside of them.
    """
    rows = one_of("grade", grade, INCH_GRADES)
    last = rows[-1][0]
    size = given("diameter", diameter, "inch", least=str(QUARTER_INCH), most=str(last), source=SAE_J429)
    most, found = next(row for row in rows if size <= row[0])
    line = f"grade {grade}, {diameter}, up to {Amount(most, 'inch')}: proof {found.proof} ksi"
    return _strengths(found, Decimal(1000), "psi", (line,), (SAE_J429,))


def strength_metric(*, property_class: PropertyClass, diameter: Length) -> Figure:
    """The proof strength in MPa of a metric bolt by its property class and size; yield and tensile strength beside it.

    Source: ISO 898-1 as restated, with class 8.8 stronger from 16 mm on. At 16 mm itself it is unsure: the standard is
    remembered to count that size with the smaller ones. Raises ValueError outside of 1.6 to 39 mm.
    """
    found = one_of("property_class", property_class, METRIC_CLASSES)
    size = given("diameter", diameter, "mm", least="1.6", most="39", source=ISO_898_SIZES)
    verdict: Verdict | None = None
    lines: tuple[str, ...] = ()
    if property_class == "8.8" and size >= LARGE_8_8:
        found = STRONGER_8_8
        if size == LARGE_8_8:
            verdict, lines = "unsure", ("of 16 mm one source says 600 MPa, another 580 MPa: take the lesser",)
    line = f"class {property_class}, {diameter}: proof {found.proof} MPa"
    return _strengths(found, Decimal(1), "MPa", (line, *lines), (ISO_898, ISO_898_SIZES), verdict)


def _strengths(
    found: Strength,
    times: Decimal,
    unit: str,
    working: tuple[str, ...],
    sources: tuple[str, ...],
    verdict: Verdict | None = None,
) -> Figure:
    beside = (("yield", Amount(found.yielding * times, unit)), ("tensile", Amount(found.tensile * times, unit)))
    return Figure(Amount(found.proof * times, unit), working, sources, verdict, beside, (KEEP_TO_THE_MANUAL,))


def proof_load_metric(*, property_class: PropertyClass, thread: Thread) -> Figure:
    """The proof load in N of a coarse metric thread, as published; beside it stress area times proof strength.

    Source: ISO 898-1 as restated. Raises ValueError for a thread or class that is not in the table.
    """
    proof = one_of("property_class", property_class, METRIC_CLASSES).proof
    area = one_of("thread", thread, STRESS_AREAS)
    answer, product = Amount(Decimal(PROOF_LOADS[property_class][thread]), "N"), Amount(area * proof, "N")
    lines = (f"{thread} class {property_class}: {answer}", f"{area} mm2 x {proof} MPa = {product}")
    return Figure(answer, lines, (ISO_898,), beside=(("area_times_strength", product),), cautions=(KEEP_TO_THE_MANUAL,))


def preload(*, strength: Pressure, stress_area: Area, share: Share) -> Figure:
    """The tension that a share of a bolt's strength makes in it: strength x area x share, to four significant figures.

    In lbf for a strength in psi, else in N. `share`: above 0 to 90 percent. Source: `PRELOAD`. Raises ValueError.
    """
    above_zero("share", share, "percent")
    part = given("share", share, "percent", most="90", source=PRELOAD)
    newtons = above_zero("strength", strength, "MPa") * above_zero("stress_area", stress_area, "mm2") * part / 100
    unit = "lbf" if strength.unit == "psi" else "N"
    answer = Amount(to_figures(convert(Amount(newtons, "N"), unit).value, LOAD_FIGURES), unit)
    return Figure(answer, (f"{strength} x {stress_area} x {share} = {answer}",), (PRELOAD,), cautions=(ESTIMATE,))


def preload_metric(*, property_class: PropertyClass, thread: Thread, joint: Joint) -> Figure:
    """The tension in N for a coarse metric thread: 75 percent of its proof load if used again, 90 if it stays for good.

    Sources: ISO 898-1 and `PRELOAD`. Raises ValueError for what is not in the tables.
    """
    load = proof_load_metric(property_class=property_class, thread=thread).amount
    share = one_of("joint", joint, JOINT_SHARES)
    answer = Amount(load.value * share / 100, "N")
    lines = (f"{thread} class {property_class}: proof load {load}", f"{share} % of {load} = {answer}")
    return Figure(answer, lines, (ISO_898, PRELOAD), cautions=(ESTIMATE,))


def torque_estimate(*, surface: Surface, diameter: Length, tension: Force) -> Figure:
    """About what torque gives a bolt that tension: T = K d F, to three figures; 30 percent either way stand beside it.

    In pound force inches for a diameter in inches, feet or thou, else in newton metres. Source: `NUT_FACTOR`.
    Raises ValueError for a diameter or tension that is not above zero, or a surface that has no factor.
    """
    factor = one_of("surface", surface, NUT_FACTORS)
    newton_metres = factor * above_zero("diameter", diameter, "m") * above_zero("tension", tension, "N")
    unit = "lbf_in" if diameter.unit in ("inch", "ft", "thou") else "Nm"
    torque = convert(Amount(newton_metres, "Nm"), unit).value
    answer, least, most = (
        Amount(to_figures(torque * times, ESTIMATE_FIGURES), unit) for times in (Decimal(1), 1 - SCATTER, 1 + SCATTER)
    )
    lines = (
        f"T = K d F = {factor} x {diameter} x {about(tension)} = {answer}",
        f"with 30 % either way: {least} to {most}",
    )
    return Figure(answer, lines, (NUT_FACTOR,), beside=(("least", least), ("most", most)), cautions=(ESTIMATE,))


COMPUTATIONS = (strength_inch, strength_metric, proof_load_metric, preload, preload_metric, torque_estimate)
