"""Jobs for the tests of figures: one procedure of our own with every kind of reading that is drawn, its sheet and its shop."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from assistant.core import entries as e
from assistant.core.entries import JobOpened, Kept
from assistant.reports.figures import Drawn, figures_of
from assistant.reports.job_report import JobReport, report_of

PROCEDURE = """
procedure: figures
title: Everything that is drawn
version: 1
for: test engine
conditions: {engine: [stopped, running]}
start: {engine: stopped}
never: [{when: {engine: running}, because: "Nothing here is done on a running engine."}]
steps:
  - id: cold
    title: Cold
    say: Read the display.
    readings:
      - {name: amber, ask: Battery volts, unit: V, plausible: [0, 17], places: 2, limits: [{at_least: 12.4 V, source: page 8}]}
      - {name: blue, ask: Engine temperature, unit: degF, plausible: [-40, 300], limits: [{at_most: 120 degF, source: page 3}]}
  - id: warm
    title: Warm
    say: Read the display.
    readings:
      - {name: cyan, ask: Engine temperature, unit: degC, plausible: [-40, 200], limits: [{between: [65 degC, 99 degC]}]}
      - {name: dun, ask: Charging voltage, unit: V, plausible: [0, 20], places: 1, limits: [{between: [13.2 V, 15 V]}]}
      - {name: frost, ask: Coolant, unit: degF, plausible: [-90, 40], limits: [{at_most: -35 degF}]}
  - id: squeeze
    title: Squeeze
    say: Crank each cylinder.
    readings:
      - name: ecru
        ask: Pressure
        unit: psi
        plausible: [0, 400]
        each: cylinder
        limits: [LIMITS]
  - id: cut
    title: Cut out
    say: Cut out one after another.
    readings:
      - {name: fawn, ask: Running, unit: rpm, plausible: [0, 9000]}
      - name: gold
        ask: Cut out
        unit: rpm
        plausible: [0, 9000]
        each: cylinder
        limits: [{by: drop_test, with: {running: fawn, cut_out: all}}]
  - id: cells
    title: Cells
    say: Read each cell.
    readings:
      - {name: henna, ask: Acid temperature, unit: degF, plausible: [-20, 150]}
      - name: iris
        ask: Gravity
        unit: sg
        plausible: [1.0, 1.35]
        places: 3
        each: cell
        positions: [1, 2, 3, 4, 5, 6]
        limits:
          - {by: cell_spread, with: {gravities: all}}
          - {by: charge_by_gravity, with: {gravity: it, temperature: henna, scale: industry_1265}, at_least: 75 percent}
  - id: rested
    title: Rested
    say: Read the meter.
    readings:
      - {name: jade, ask: Hours at rest, unit: h, plausible: [0, 500]}
      - name: khaki
        ask: Battery
        unit: V
        plausible: [0, 17]
        places: 2
        limits: [{by: charge_needed, with: {voltage: it, rested: jade, kind: flooded}}]
  - id: gaps
    title: Gaps
    say: Measure each gap.
    readings:
      - {name: lime, ask: Gap, unit: mm, plausible: [0, 9], places: 2, each: cylinder, limits: [{between: [0.7 mm, 0.8 mm]}]}
"""
SHEET = """
model: Test
for: test engine
manual: Test manual
entered: {by: Kim, on: 2026-10-01}
counts: {cylinder: COUNT}
values: {pressure_least: {is: 175 psi, page: 6}, pressure_most: {is: 215 psi, page: 6}}
parts: {}
"""
SITE = "shop: the shop\ngallon: us_gal\nvalues: {altitude: {is: ALTITUDE, source: a survey mark}}\n"
AS_READ = "{between: [pressure_least, pressure_most]}, {spread: 10 percent, source: trade practice}"
CORRECTED = (
    "{by: compression_to_sea_level, with: {reading: it, altitude: altitude}, between: [pressure_least, pressure_most]}, "
    "{by: compression_balance, with: {pressures: all}}"
)
BY_RULE = "{at_least: 90 psi}, {by: compression_by_rule, with: {rule: lowest_75, pressures: all}}"
UNITS = {
    "amber": "V", "blue": "degF", "cyan": "degC", "dun": "V", "frost": "degF", "ecru": "psi", "fawn": "rpm", "gold": "rpm",
    "henna": "degF", "iris": "sg", "jade": "h", "khaki": "V", "lime": "mm",
}  # fmt: skip
Said = tuple[str, str, str, str, str]
"""Step, name, place, value, verdict."""


def opened(
    limits: str = AS_READ, cylinders: int = 4, altitude: str = "260 m", earlier: Sequence[tuple[str, ...]] = ()
) -> JobOpened:
    """The first entry of a job of this procedure."""
    texts = (
        PROCEDURE.replace("LIMITS", limits),
        SHEET.replace("COUNT", str(cylinders)),
        SITE.replace("ALTITUDE", altitude),
    )
    return JobOpened("figures", *texts, "bay", (), "layup", "vosk", earlier=tuple(earlier))  # type: ignore[arg-type]


def kept(first: JobOpened | None, said: Iterable[Said], apart_s: int = 40) -> tuple[Kept, ...]:
    """The entries of a job: a value every so many seconds from 9:00."""
    entries: list[e.Entry] = [first] if first else []
    for step, name, place, value, verdict in said:
        unit = UNITS.get(name, "psi")
        entries.append(e.ReadingKept(step, name, place, "words", value, unit, unit, value, verdict, "", (), "", 0, ""))
    return tuple(
        Kept(n, f"2026-11-20T{9 + n * apart_s // 3600:02}:{n * apart_s // 60 % 60:02}:{n * apart_s % 60:02}.000Z", one)
        for n, one in enumerate(entries, start=1)
    )


def job(first: JobOpened | None, said: Iterable[Said]) -> tuple[JobReport, JobOpened | None]:
    """The report of these values, and the first entry."""
    return report_of(kept(first, said)), first


def drawn(first: JobOpened | None, said: Iterable[Said]) -> tuple[Drawn, ...]:
    """All figures of a job with these values."""
    return figures_of(*job(first, said)).drawn


def cylinders(values: Sequence[str], name: str = "ecru", step: str = "squeeze", verdict: str = "within") -> list[Said]:
    """A reading cylinder by cylinder."""
    return [(step, name, f"cylinder {n}", value, verdict) for n, value in enumerate(values, start=1)]


def everything() -> list[Said]:
    """A value for each reading of the procedure."""
    return [
        ("cold", "amber", "", "12.60", "within"),
        ("cold", "blue", "", "64", "within"),
        ("warm", "cyan", "", "104", "high"),
        ("warm", "dun", "", "14.1", "within"),
        ("warm", "frost", "", "-38", "within"),
        *cylinders(["190", "180", "192", "160"][:3]),
        ("squeeze", "ecru", "cylinder 4", "160", "low"),
        ("cut", "fawn", "", "1500", ""),
        *cylinders(["1380", "1390", "1385", "1460"], "gold", "cut"),
        ("cells", "henna", "", "70", ""),
        *[
            ("cells", "iris", f"cell {n}", value, "within" if n != 4 else "outside")
            for n, value in enumerate(("1.262", "1.265", "1.260", "1.234", "1.264", "1.259"), start=1)
        ],
        ("rested", "jade", "", "24", ""),
        ("rested", "khaki", "", "12.35", "low"),
        *cylinders(["0.75", "0.80", "0.81", "0.70"], "lime", "gaps"),
    ]


EARLIER = [
    ("cold", "amber", "", "12.70", "V"), ("cold", "blue", "", "20", "degC"), ("warm", "cyan", "", "88", "degC"),
    ("squeeze", "ecru", "cylinder 1", "195", "psi"), ("squeeze", "ecru", "cylinder 2", "1270", "kPa"),
    ("squeeze", "ecru", "cylinder 3", "192", "psi"), ("squeeze", "ecru", "cylinder 4", "185", "psi"),
    ("gaps", "lime", "cylinder 1", "0.72", "mm"), ("gone", "gone", "", "5", "V"), ("rested", "khaki", "", "nan", "V"),
]  # fmt: skip
