"""Lines through seasons against certified values, printed examples, other libraries; real job files, told and refused."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Sequence
from decimal import Decimal
from itertools import combinations, pairwise, permutations
from math import sqrt
from pathlib import Path
from statistics import linear_regression, median
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from job_samples import reading
from scipy import optimize, stats
from season_samples import FIVE, PROCEDURE, five_jobs, kept_job, spoken_job

from assistant.cli import main
from assistant.core.entries import Entry, ReadingKept, StepOpened
from assistant.core.procedure import Limit
from assistant.core.trade.seasons import NotTold, Projection, Season, Trend
from assistant.core.units import Amount
from assistant.files.amending import amend
from assistant.files.job_file import JobFile
from assistant.files.times import utc_now
from assistant.reports.figures.scale import ticks
from assistant.reports.season_jobs import SeasonJob, read_seasons
from assistant.reports.season_text import rounded, trend_line
from assistant.reports.season_trends import NO_WEAR, Line, least_squares, line_of, theil_sen, trend_of, trends_of

# NIST StRD, linear regression, Norris (lower level of difficulty): data and certified values as they stand in the tests of
# SciPy, of the GNU Scientific Library and of Apache Commons Math (three copies seen, all the same; nist.gov itself not seen).
NORRIS_X = """0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6 556.0 228.1
995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5"""
NORRIS_Y = """0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7 228.3
998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2"""


def floats(text: str) -> list[float]:
    return [float(word) for word in text.split()]


def test_norris_certified_values() -> None:
    """Slope, intercept, the slope's standard error and the residual standard deviation are NIST's to ten figures."""
    line = least_squares(floats(NORRIS_X), floats(NORRIS_Y))
    assert line.per_hour == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.at(0) == pytest.approx(-0.262323073774029, rel=1e-10)
    assert line.scatter / sqrt(line.spread) == pytest.approx(0.429796848199937e-03, rel=1e-10)
    assert line.scatter == pytest.approx(0.884796396144373, rel=1e-10)
    assert line.interval[1] - line.per_hour == pytest.approx(stats.t.ppf(0.975, 34) * 0.429796848199937e-03, rel=1e-9)


# Graybill and Iyer, Regression Analysis: Concepts and Applications (1994), chapter 6: the mean response at a given value, as
# their answers are restated in the tests of the R package investr (seen); the crystals' weights from memory of its data.
PRINTED = [
    (  # reaction chamber, p. 433: dial for 400 degrees, 99 %
        list(range(0, 101, 10)), floats("206.36 225.52 252.18 289.33 318.11 349.49 383.03 410.70 444.40 469.14 501.16"),
        400, 0.99, ("66.5", "65.07", "68.03"),
    ),
    (  # crystals, p. 434: hours for a weight of 5 g, 90 %
        list(range(2, 29, 2)), floats("0.08 1.12 4.43 4.98 4.92 7.18 5.57 8.40 8.81 10.81 11.16 10.12 13.12 15.04"),
        5, 0.90, ("9.93", "8.65", "11.05"),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("hours", "values", "limit", "level", "printed"), PRINTED)
def test_printed_inverse_predictions(
    hours: list[float], values: list[float], limit: float, level: float, printed: tuple[str, ...]
) -> None:
    """Where a line comes to a value, and its interval, are a textbook's printed answers to the last figure."""
    found = least_squares(hours, values, level=level).crossing(limit)
    for number, text in zip(found, printed, strict=True):
        assert f"{number:.{len(text.partition('.')[2])}f}" == text


POINTS = st.lists(
    st.tuples(st.integers(0, 3000), st.integers(0, 4000)).map(lambda p: (p[0] / 10, p[1] / 10)), min_size=3, max_size=9
)


@settings(max_examples=60, deadline=None)
@given(POINTS, st.floats(-100, 500))
def test_the_interval_ends_where_the_band_does(points: list[tuple[float, float]], limit: float) -> None:
    """At either end of the interval the limit lies on the edge of the confidence band, by curve_fit's own covariances; and
    where the slope's interval holds zero there is no end."""
    hours, values = [h for h, _ in points], [v for _, v in points]
    assume(max(hours) - min(hours) > 5)
    line = least_squares(hours, values)
    assume(line.scatter > 0.1)
    (base, slope), covariance = optimize.curve_fit(
        lambda x, a, b: a + b * x, hours, values, p0=(line.at(0), line.per_hour)
    )
    assert (line.at(0), line.per_hour) == (
        pytest.approx(base, rel=1e-4, abs=1e-3),
        pytest.approx(slope, rel=1e-4, abs=1e-5),
    )
    half = stats.t.ppf(0.975, len(hours) - 2) * sqrt(covariance[1][1])
    if abs(slope) < half * 0.999:
        with pytest.raises(ValueError, match="no wear can be told"):
            line.crossing(limit)
    elif abs(slope) > half * 1.01:
        at, *ends = line.crossing(limit)
        assert line.at(at) == pytest.approx(limit, abs=1e-6)
        assert ends[0] <= at + 1e-9
        assert at <= ends[1] + 1e-9
        for end in ends:
            edge = stats.t.ppf(0.975, len(hours) - 2) * sqrt(np.array([1, end]) @ covariance @ np.array([1, end]))
            assert abs(line.at(end) - limit) == pytest.approx(edge, rel=2e-3)


def test_the_interval_holds_the_true_hours() -> None:
    """Of 3000 machines whose compression falls 0.07 psi an hour, 95 % of the intervals hold the hours to the limit."""
    random = np.random.default_rng(2026)
    hours = np.array([100.0, 150, 190, 260, 300, 360])
    kept = 0
    for _ in range(3000):
        line = least_squares(hours, 200 - 0.07 * hours + random.normal(0, 1.2, len(hours)))
        _, earliest, latest = line.crossing(175)
        kept += earliest <= 25 / 0.07 <= latest
    assert abs(kept / 3000 - 0.95) < 4 * sqrt(0.95 * 0.05 / 3000)


@settings(max_examples=60, deadline=None)
@given(POINTS)
def test_the_line_is_the_standard_librarys(points: list[tuple[float, float]]) -> None:
    """Slope and height are those of statistics.linear_regression."""
    hours, values = [h for h, _ in points], [v for _, v in points]
    assume(max(hours) - min(hours) > 1)
    line, other = least_squares(hours, values), linear_regression(hours, values)
    assert line.per_hour == pytest.approx(other.slope, rel=1e-6, abs=1e-9)
    assert line.at(123) == pytest.approx(other.intercept + 123 * other.slope, rel=1e-6, abs=1e-6)


def test_a_rounding_is_the_least_scatter() -> None:
    """Values read to 1 that lie on a line are not known better than a rounding: 1 over the root of 12 (JCGM 100, F.2.2.1)."""
    hours, values = [100.0, 200, 300], [200.0, 190, 180]
    exact, read = least_squares(hours, values), least_squares(hours, values, 1)
    assert exact.scatter == pytest.approx(0, abs=1e-6)
    assert read.scatter == pytest.approx(0.288675, rel=1e-5)
    assert read.interval[1] - read.per_hour == pytest.approx(12.7062 * 0.288675 / sqrt(20000), rel=1e-4)
    noisy = least_squares(hours, [200, 180, 190], 1)
    assert noisy.scatter == pytest.approx(sqrt(150), rel=1e-9)  # residuals 5, -10, 5 on one degree of freedom


def test_theil_sen_of_a_textbook() -> None:
    """Hollander and Wolfe, Nonparametric Statistical Methods (1999), example 9.1, cloud seeding (from memory): -0.056, and its
    five points' widest interval -0.15 to 0.04."""
    rate = theil_sen([1, 2, 3, 4, 5], [1.26, 1.27, 1.12, 1.16, 1.03])
    assert rate.per_hour == pytest.approx(-0.05625)
    assert rate.interval == (pytest.approx(-0.15), pytest.approx(0.04))


@settings(max_examples=60, deadline=None)
@given(POINTS)
def test_theil_sen_is_the_median_of_slopes(points: list[tuple[float, float]]) -> None:
    """The robust rate is the median of the slopes between all pairs at different hours."""
    hours, values = [h for h, _ in points], [v for _, v in points]
    slopes = [(w - v) / (g - h) for (h, v), (g, w) in combinations(points, 2) if g != h]
    assume(slopes)
    assert theil_sen(hours, values).per_hour == pytest.approx(median(slopes), rel=1e-9, abs=1e-12)


def test_one_odd_season_turns_one_rate_only() -> None:
    """A season misread by 60 psi moves the least-squares rate far and the Theil-Sen rate little."""
    hours, values = [100.0, 150, 200, 250, 300, 350], [200.0, 196.5, 193, 189.5, 126, 182.5]
    assert theil_sen(hours, values).per_hour == pytest.approx(-0.07, abs=0.001)
    assert least_squares(hours, values).per_hour < -0.15


@pytest.mark.parametrize(("of", "holds"), [(4, 1 - 2 / 24), (5, 1 - 2 / 120)])
def test_how_much_all_slopes_hold(of: int, holds: float) -> None:
    """Counted over all orders of the residuals: the slopes of four seasons cannot have a 95 % interval, those of five can."""
    inside = [
        any(a < b for a, b in pairwise(p)) and any(a > b for a, b in pairwise(p)) for p in permutations(range(of))
    ]
    assert sum(inside) / len(inside) == pytest.approx(holds)
    told = theil_sen([float(n) for n in range(of)], [3.0, 1, 2, 0, 5][:of]).interval
    assert (told == NotTold("no interval under 5 seasons")) == (holds < 0.95)


@pytest.mark.parametrize(
    ("hours", "values"), [("1 2 3 4 5", "7 7 7 7 7"), ("1 2 3 4 5 5 5 5 5 5 5 5", "7 7 7 7 7 7 7 7 7 7 7 8")]
)
def test_the_same_values_make_no_interval(hours: str, values: str) -> None:
    """Values that are (nearly) all the same do not make an interval of no width, nor one of no numbers."""
    rate = theil_sen(floats(hours), floats(values))
    assert (rate.per_hour, rate.interval) == (0, NotTold("no interval: too many values are the same"))


def test_five_seasons_at_four_hours_are_four() -> None:
    """Seasons between which nothing was run do not make an interval."""
    assert isinstance(theil_sen([1, 1, 2, 3, 4], [3, 3, 2, 0, 5]).interval, NotTold)


def seasons(hours: str, values: str, unit: str = "psi") -> list[Season]:
    """Seasons as they would be read from jobs; "-" for hours that are not known."""
    return [
        Season(
            f"{2020 + n}.job",
            f"{2020 + n}-10-01",
            None if h == "-" else Decimal(h),
            Amount(Decimal(v), unit),
            Decimal(1),
        )
        for n, (h, v) in enumerate(zip(hours.split(), values.split(), strict=True))
    ]


def psi(low: str = "", high: str = "") -> Limit:
    """A limit with one bound."""
    bound = Amount(Decimal(low or high), "psi")
    return Limit("at_least", low=bound) if low else Limit("at_most", high=bound)


KEY = ("compression", "compression", "cylinder 1")
REFUSED = [
    ("100", "198", psi("175"), "a rate needs 3 seasons with engine hours, and there are 1"),
    ("100 200", "198 190", psi("175"), "a rate needs 3 seasons with engine hours, and there are 2"),
    ("- - - -", "198 195 190 185", psi("175"), "a rate needs 3 seasons with engine hours, and there are 0"),
    ("100 100 100 100", "198 195 190 185", psi("175"), "no running hours between the seasons"),
    ("100 200 300 400", "198 190 199 191", psi("175"), NO_WEAR),
    ("100 200 300", "190 190 190", psi("175"), NO_WEAR),
    ("100 200 300", "198 190 185", psi("175"), NO_WEAR),  # by Student's t of one degree of freedom, 12.7
    ("0 1 2 3 1000", "500 501 502 503 10", psi("1"), "the two rates do not point the same way: look at the single seasons"),
    ("100 200 300 400 -", "198 195 191 188 186", psi("175"), "this season's job has no engine hours to count from"),
    ("100 200 300 400", "198 195 191 188", None, "its limits cannot be read from this season's job"),
    ("100 200 300 400", "198 195 191 188", psi(high="215"), "it falls, and no fixed limit lies on that side"),
    ("100 200 300 400", "198 195 191 188", psi("190"), "it is past its limit of 190 psi already"),
    ("100 200 300 400 500", "200 190 179 170 176", psi("175"),
     "the line is past the limit of 175 psi already, and this season's value is not: measure again"),
]  # fmt: skip


@pytest.mark.parametrize(("hours", "values", "limit", "why"), REFUSED)
def test_what_is_not_projected(hours: str, values: str, limit: Limit | None, why: str) -> None:
    """Nothing is projected from what cannot tell it, with the reason; a rate that is none has the same."""
    trend = trend_of(KEY, seasons(hours, values), None if limit is None else [limit])
    assert trend.projection == NotTold(why)
    assert isinstance(trend.rates, NotTold) == (line_of(trend.seasons) == NotTold(why))
    assert f"limit not projected: {why}" in trend_line(trend)


def test_what_is_projected() -> None:
    """The hours to the limit count from this season's reading, the interval around them, and how far ahead that is."""
    trend = trend_of(KEY, seasons("100 150 200 250 300", "198 195 191 189 185"), [psi("175")])
    fit = stats.linregress([100, 150, 200, 250, 300], [198, 195, 191, 189, 185])
    found = trend.projection
    assert isinstance(found, Projection)
    assert found.hours == pytest.approx((175 - fit.intercept) / fit.slope - 300)
    assert 0 < found.earliest < found.hours < found.latest
    assert found.beyond == pytest.approx(found.hours / 200)
    assert found.limit == Amount(Decimal(175), "psi")


def test_a_limit_that_may_be_reached_now() -> None:
    """An interval that begins before this season's reading begins now."""
    trend = trend_of(KEY, seasons("100 150 200 250 300", "198 194 192 187 185"), [psi("184.5")])
    assert isinstance(trend.projection, Projection)
    assert trend.projection.earliest == 0
    assert "(95 % now to " in trend_line(trend)


def test_a_far_projection_says_how_far() -> None:
    """A limit further ahead than the hours that were watched says so."""
    trend = trend_of(KEY, seasons("100 150 200 250 300", "198 195 191 189 185"), [psi("100")])
    assert re.search(
        r"limit 100 psi projected in 1\d{3} h \(95 % .* h, [67]\.\d+ times as far ahead as was watched\)",
        trend_line(trend),
    )


def test_a_season_without_hours_is_left_out_and_named() -> None:
    """It stands among the values and in the score, is no point of the line, and the line says so."""
    whole = trend_of(KEY, seasons("100 150 200 250 - 300", "198 195 191 189 250 185"), [psi("175")])
    without = trend_of(KEY, seasons("100 150 200 250 300", "198 195 191 189 185"), [psi("175")])
    assert (whole.rates, whole.projection) == (without.rates, without.projection)
    assert whole.notes == ("2024.job has no engine hours: left out of the rates",)
    assert "250 psi at no engine hours" in trend_line(whole)
    assert whole.score != without.score


# ---- job files


@pytest.fixture(scope="module")
def five(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Five seasons of one machine, spoken."""
    return five_jobs(tmp_path_factory.mktemp("five"))


def by_title(trends: Sequence[Trend]) -> dict[str, Trend]:
    return {f"{t.name} {t.place}".strip(): t for t in trends}


def test_values_and_hours_are_those_that_were_said(five: list[Path]) -> None:
    """Each season has what was spoken in its job, at the hours that were spoken; counts and hours are no trend."""
    trends = by_title(trends_of(read_seasons(five)))
    assert list(trends) == ["compression cylinder 1", "compression cylinder 2", "gap"]
    assert [(s.began, s.hours, s.value) for s in trends["gap"].seasons] == [
        (day, Decimal(h), Amount(Decimal(v), "thou"))
        for (day, *_), h, v in zip(FIVE, ("112.4", "156", "201.5", "249", "296"), (5, 6, 8, 9, 11), strict=True)
    ]


def test_rates_and_projections_from_job_files(five: list[Path]) -> None:
    """The rates are scipy's of the spoken values; the limit is the sheet's; what shows no wear is not projected."""
    trends = by_title(trends_of(read_seasons(five)))
    hours, first, gap = [112.4, 156, 201.5, 249, 296], [198, 195, 191, 189, 185], [5, 6, 8, 9, 11]
    for name, values, limit in (("compression cylinder 1", first, 175), ("gap", gap, 14)):
        fit, robust = stats.linregress(hours, values), stats.theilslopes(values, hours)
        rates, projection = trends[name].rates, trends[name].projection
        assert not isinstance(rates, NotTold)
        assert [r.method for r in rates] == ["least squares", "Theil-Sen"]
        assert [r.per_hour for r in rates] == [pytest.approx(fit.slope), pytest.approx(robust.slope)]
        assert isinstance(projection, Projection)
        assert projection.hours == pytest.approx((limit - fit.intercept) / fit.slope - 296)
    assert trends["compression cylinder 2"].projection == NotTold(NO_WEAR)


def test_jobs_may_be_named_in_any_order(five: list[Path]) -> None:
    """The day that each began says which comes first."""
    assert trends_of(read_seasons(five[::-1])) == trends_of(read_seasons(five))
    assert [job.path for job in read_seasons([five[2], five[0], five[4]])] == [five[0], five[2], five[4]]


def test_corrections_and_amendments_count(five: list[Path], tmp_path: Path) -> None:
    """The value is the one that stands in the job: corrected by the technician, then amended by the foreman."""
    path = spoken_job(
        tmp_path / "2026.job",
        "2026-10-01",
        ["three four zero", "twenty four", "one five zero", "correction one eight two"],
    )
    jobs = read_seasons([*five, path])
    assert jobs[-1].readings["compression", "compression", "cylinder 1"].value == "182"
    with JobFile.open(path) as job_file:
        sequence = max(k.sequence for k in job_file.entries() if isinstance(k.entry, ReadingKept))
        amend(job_file, utc_now(), sequence, "183", "misheard", "Foreman")
    trend = by_title(trends_of(read_seasons([*five, path])))["compression cylinder 1"]
    assert trend.seasons[-1].value == Amount(Decimal(183), "psi")
    assert "gap" not in by_title(trends_of(read_seasons([*five, path])))  # not read this season


def test_said_in_bar_is_read_to_bar(tmp_path: Path) -> None:
    """A value said in bar is kept in psi with many figures, and is no better known than to one bar."""
    jobs = [
        spoken_job(tmp_path / f"{n}.job", f"202{n}-10-01", [hours, "twenty four", "thirteen bar", "affirm"])
        for n, hours in enumerate(("one hundred", "two hundred", "three hundred"))
    ]
    trend = by_title(trends_of(read_seasons(jobs)))["compression cylinder 1"]
    assert float(trend.seasons[0].read_to) == pytest.approx(14.5038, rel=1e-5)
    line = line_of(trend.seasons)
    assert isinstance(line, Line)
    assert line.scatter == pytest.approx(14.5038 / sqrt(12), rel=1e-5)


@pytest.mark.parametrize(("said", "unit"), [("", "psi"), ("12", "V"), ("NaN", "psi")])
def test_without_what_was_said_the_value_says_it(said: str, unit: str, tmp_path: Path) -> None:
    """Where the words' own number is missing or of another kind, the step is the last figure of what was kept."""
    entry = reading("gap", "", "5.25", "psi", step="impeller", said_value=said, said_unit=unit)
    jobs = [kept_job(tmp_path / f"{n}.job", f"202{n}-10-01", [entry]) for n in (1, 2)]
    assert trends_of(read_seasons(jobs))[0].seasons[0].read_to == Decimal("0.01")


def kept(hours: str, *more: Entry, name: str = "hours") -> list[Entry]:
    """Entries of a job that read its hours, and more."""
    return [StepOpened("display"), reading(name, "", hours, "h", step="display"), *more]


def gap(value: str, unit: str = "thou") -> Entry:
    return reading("gap", "", value, unit, step="impeller")


def test_other_units_are_turned_and_named(tmp_path: Path) -> None:
    """A reading that was in another unit in earlier seasons comes in this season's, and the line says what was turned."""
    jobs = [kept_job(tmp_path / "a.job", "2024-10-01", kept("100", gap("0.2", "mm"))),
            kept_job(tmp_path / "b.job", "2025-10-01", kept("150", gap("9")))]  # fmt: skip
    [trend] = trends_of(read_seasons(jobs))
    assert [s.value.unit for s in trend.seasons] == ["thou", "thou"]
    assert trend.notes == (f"0.2 mm in {jobs[0]} is 7.874 thou",)  # 25.4 mm are 1000 thou
    assert "7.874 thou at 100 h" in trend_line(trend)


def test_other_kinds_cost_their_own_line_only(tmp_path: Path) -> None:
    """A reading that was another kind of quantity is not compared, and says so; the others are told."""
    volts = [reading("rest", "", v, "V", step="rest") for v in ("12.6", "12.4")]
    jobs = [kept_job(tmp_path / "a.job", "2024-10-01", kept("100", gap("3", "percent"), volts[0])),
            kept_job(tmp_path / "b.job", "2025-10-01", kept("150", gap("9"), volts[1]))]  # fmt: skip
    trends = by_title(trends_of(read_seasons(jobs)))
    why = f"measured in units of different kinds: {jobs[0]} has 3 % (share), {jobs[1]} has thou (length)"
    assert (
        trends["gap"].change == trends["gap"].rates == trends["gap"].projection == trends["gap"].score == NotTold(why)
    )
    assert "change -0.2 V in 50 h" in trend_line(trends["rest"])


def test_limits_are_this_seasons(five: list[Path], tmp_path: Path) -> None:
    """Where the limit was another in earlier seasons, this season's job says which counts; unreadable texts cost it alone."""
    tight = PROCEDURE.replace("at_most: gap_most", "at_most: 20 thou")
    later = spoken_job(
        tmp_path / "later.job", "2026-10-01",
        ["three five zero", "twenty four", "one eight two", "one niner six", "one three"], procedure=tight,
    )  # fmt: skip
    projection = by_title(trends_of(read_seasons([*five, later])))["gap"].projection
    assert isinstance(projection, Projection)
    assert projection.limit == Amount(Decimal(20), "thou")


def other_machine(folder: Path) -> list[Path]:
    return [kept_job(folder / "other.job", "2020-10-01", kept("50", gap("4")), model="Test 9")]


def other_hull(folder: Path) -> list[Path]:
    hulls = [reading("hull_number", "", number, "", step="hull") for number in ("ABC", "ABD")]
    return [kept_job(folder / f"{n}.job", f"2020-10-0{n + 1}", kept("50", hull)) for n, hull in enumerate(hulls)]


def copied(folder: Path) -> list[Path]:
    path = kept_job(folder / "a.job", "2020-10-01", kept("50", gap("4")))
    return [path, Path(shutil.copy(path, folder / "b.job"))]


def twice(folder: Path) -> list[Path]:
    return [kept_job(folder / "a.job", "2020-10-01", kept("50", gap("4")))] * 2


def running_back(folder: Path) -> list[Path]:
    return [kept_job(folder / "new.job", "2026-10-01", kept("290.5", gap("4")))]


def two_meters(folder: Path) -> list[Path]:
    both = (*kept("50"), *kept("60", name="engine_hours"))
    return [kept_job(folder / "two.job", "2026-10-01", both)]


def never_begun(folder: Path) -> list[Path]:
    with JobFile.create(folder / "begun.job") as job_file:
        job_file.append(StepOpened("display"), "2026-10-01T12:00:00.000Z")
    return [folder / "begun.job"]


def empty(folder: Path) -> list[Path]:
    JobFile.create(folder / "begun.job").close()
    return [folder / "begun.job"]


def no_job(folder: Path) -> list[Path]:
    (folder / "text.job").write_text("no job", encoding="utf-8")
    return [folder / "text.job"]


APART = [
    (other_machine, "other.job: the machine is a Test 9, in .*2025.job it is a Test 2\n  name jobs of one machine only"),
    (other_hull, "0.job: its hull number is ABC, in .*1.job it is ABD\n  name jobs of one machine only"),
    (copied, "b.job: this is the same job as .*a.job\n  name each job once"),
    (twice, "a.job: this is the same job as .*a.job\n  name each job once"),
    (running_back, "new.job: the engine hours run back: 290.5 h on 2026-10-01, and 296 h on 2025-10-03 in .*5.job\n  another"),
    (two_meters, "two.job: both hours and engine_hours may be the engine hours\n  say which with --hours NAME"),
    (never_begun, "begun.job: the job was never begun: its first entry is missing\n  leave it out"),
    (empty, "begun.job: the job was never begun"),
    (no_job, "text.job: "),
    (lambda folder: [folder / "gone.job"], "gone.job: there is no such job file"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "told"), APART, ids=[told[:24] for _, told in APART])
def test_jobs_that_do_not_go_together(
    make: object, told: str, five: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Another machine, the same job twice, hours that run back, no job at all: refused, by file, with what to do."""
    made = make(tmp_path)
    jobs = made if make in (other_hull, copied, twice) else [*five, *made]
    assert main(["seasons", *map(str, jobs)]) != 0
    out, err = capsys.readouterr()
    assert out == ""
    assert re.search(told, err)


def test_hours_by_another_name(tmp_path: Path) -> None:
    """The reading of the hours may be named; another kind of quantity is not taken for hours, and hours may be in minutes."""
    other = reading("meter", "", "6600", "min", step="display")
    one = [kept_job(tmp_path / "a.job", "2024-10-01", [*kept("100", gap("8")), reading("meter", "", "6000", "min", step="x")]),
           kept_job(tmp_path / "b.job", "2025-10-01", [*kept("150", gap("9")), other])]  # fmt: skip
    assert [job.hours for job in read_seasons(one, "meter")] == [100, 110]
    assert [job.hours for job in read_seasons(one, "gap")] == [None, None]
    assert [t.name for t in trends_of(read_seasons(one, "meter"))] == ["hours", "gap"]


def test_one_job_is_too_few(five: list[Path], capsys: pytest.CaptureFixture[str]) -> None:
    """One job is refused as a call that cannot be meant."""
    assert main(["seasons", str(five[0])]) == 2
    assert "one job shows no change\n  name the machine's earlier jobs too" in capsys.readouterr().err


def test_a_sheet_that_cannot_be_read(five: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A job whose machine sheet is no sheet cannot be said to be of this machine."""
    with JobFile.open(five[0], read_only=True) as job_file:
        first = job_file.entries()[0].entry
    with JobFile.create(tmp_path / "odd.job") as job_file:
        job_file.append(type(first)(**{**vars(first), "sheet_text": "[no sheet"}), "2020-10-01T12:00:00.000Z")
    assert main(["seasons", str(tmp_path / "odd.job"), str(five[1])]) == 2
    assert "cannot be told which machine it was\n  leave it out" in capsys.readouterr().err


# ---- what is told


def test_the_text(five: list[Path], capsys: pytest.CaptureFixture[str]) -> None:
    """The seasons, one line a reading and place with everything on it, and the cautions, each said."""
    assert main(["seasons", *map(str, five)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "Test 2, 5 seasons"
    assert lines[1].split() == ["2021-10-04", "112.4", "h", str(five[0])]
    assert lines[6] == (
        "compression, cylinder 1: 198 psi at 112.4 h, 195 psi at 156 h, 191 psi at 201.5 h, 189 psi at 249 h, 185 psi at "
        "296 h; change -4 psi in 47 h; rate least squares -0.0695 psi/h (95 % -0.0815 to -0.0575), Theil-Sen -0.0698 psi/h "
        "(95 % -0.0879 to -0.0421); outlier score -1.01 (not apart); limit 175 psi projected in 146 h (95 % 109 h to 197 h)"
    )
    assert lines[7].endswith(f"limit not projected: {NO_WEAR}")
    assert lines[8].startswith("gap (impeller): 5 thou at 112.4 h")
    told = "\n".join(lines[9:])
    for words in (
        "no measurement",
        "renewed",
        "same gauge",
        "of twenty lines",
        "knows no running hours",
        "not the single machine",
    ):
        assert words in told
    assert lines[-1].startswith("The machine's service manual")


def test_a_hull_number_takes_a_caution_away(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where every job names the same machine, that it is one is no longer for the reader to know."""
    hull = reading("hull_number", "", "ABC", "", step="hull")
    jobs = [kept_job(tmp_path / f"{n}.job", f"202{n}-10-01", kept(f"{n}00", hull, gap("5"))) for n in (1, 2)]
    assert main(["seasons", *map(str, jobs)]) == 0
    assert "not the single machine" not in capsys.readouterr().out


def test_the_json(five: list[Path], capsys: pytest.CaptureFixture[str]) -> None:
    """One object a reading and place, nothing else; kept values as decimal text; what is refused has its reason."""
    assert main(["seasons", *map(str, five), "--json", "--reading", "compression"]) == 0
    first, second = map(json.loads, capsys.readouterr().out.splitlines())
    assert (first["step"], first["name"], first["place"]) == ("compression", "compression", "cylinder 1")
    assert first["seasons"][0] == {
        "job": str(five[0]), "began": "2021-10-04", "hours": "112.4", "value": "198", "unit": "psi",
    }  # fmt: skip
    assert first["change"] == {"value": "-4", "unit": "psi", "since": str(five[3]), "hours": "47"}
    assert [(r["method"], round(r["per_hour"], 4), r["level"]) for r in first["rates"]] == [
        ("least squares", -0.0695, 0.95), ("Theil-Sen", -0.0698, 0.95),
    ]  # fmt: skip
    assert first["outlier"] == {"score": "-1.01", "of": 5, "verdict": "not apart"}
    assert first["projection"]["limit"] == {"value": "175", "unit": "psi"}
    assert [round(n) for n in first["projection"]["interval"]] == [109, 197]
    assert "no measurement" in first["projection"]["caution"]
    assert second["projection"] == {"refused": NO_WEAR}


def test_counts_only_when_asked_for(five: list[Path], capsys: pytest.CaptureFixture[str]) -> None:
    """Counted tools are no wear and are not told unless named; a name that is not there lists those that are."""
    assert main(["seasons", *map(str, five), "--reading", "tools_out"]) == 0
    assert "tools out: 24 at 112.4 h" in capsys.readouterr().out
    assert main(["seasons", *map(str, five), "--reading", "tools"]) == 2
    told = "it has no number for a reading named 'tools'\n  it has hours, tools_out, compression, gap"
    assert told in capsys.readouterr().err


def test_nothing_was_measured(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A season's job without a measured value says so."""
    jobs = [kept_job(tmp_path / f"{n}.job", f"202{n}-10-01", [StepOpened("display")]) for n in (1, 2)]
    assert main(["seasons", *map(str, jobs)]) == 2
    assert "2.job: nothing was measured in it\n  name this season's job too" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("number", "text"), [(-0.072349, "-0.0723"), (1234.5, "1230"), (0.0, "0"), (1e-9, "0.000000001")]
)
def test_three_figures(number: float, text: str) -> None:
    """Computed numbers are shown to three figures, and never with an exponent."""
    assert rounded(number) == text


# ---- the picture

SVG = "{http://www.w3.org/2000/svg}"


def test_the_picture(five: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A panel a reading: its points in place, its line, dashed beyond what was watched only where it is projected."""
    path = tmp_path / "seasons.svg"
    assert main(["seasons", *map(str, five), "-o", str(path)]) == 0
    assert "projected in" in capsys.readouterr().out
    root = ElementTree.parse(path).getroot()
    panels = root.findall(f"{SVG}g")
    titles = [panel.findtext(f"{SVG}text") for panel in panels]
    assert titles == ["compression, cylinder 1", "compression, cylinder 2", "gap (impeller)"]
    for panel, projected in zip(panels, (True, False, True), strict=True):
        points = [(float(c.get("cx", "")), float(c.get("cy", ""))) for c in panel.findall(f"{SVG}circle")]
        assert len(points) == 5
        assert points == sorted(points)
        dashed = [p.get("d") for p in panel.findall(f"{SVG}path") if p.get("stroke-dasharray") == "5 4"]
        assert bool(dashed) == projected
        said = [text.text or "" for text in panel.findall(f"{SVG}text")][1]
        assert said.startswith("projected: " if projected else "not projected: no wear can be told")
    heights = [float(c.get("cy", "")) for c in panels[0].findall(f"{SVG}circle")]
    assert heights == sorted(heights)  # compression falls: each season lower on the page
    share = (heights[1] - heights[0]) / (heights[4] - heights[0])
    assert share == pytest.approx((198 - 195) / (198 - 185), abs=0.01)
    assert "projection and no measurement" in path.read_text(encoding="utf-8")


def test_other_pictures_are_refused_at_once(
    five: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Another ending is refused before anything is told."""
    assert main(["seasons", *map(str, five), "-o", str(tmp_path / "a.png")]) == 2
    out, err = capsys.readouterr()
    assert (out, "seasons are drawn as SVG only\n  name a file that ends in .svg" in err) == ("", True)


def test_nothing_to_draw(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without engine hours the readings are told all the same, and that there is nothing to draw."""
    jobs = [kept_job(tmp_path / f"{n}.job", f"202{n}-10-01", [gap("5")]) for n in (1, 2)]
    assert main(["seasons", *map(str, jobs), "-o", str(tmp_path / "a.svg")]) == 2
    out, err = capsys.readouterr()
    assert "5 thou at no engine hours; change 0 thou; rate none told" in out.replace("5 thou at no engine hours, ", "")
    assert "nothing to draw" in err
    assert not (tmp_path / "a.svg").exists()


def test_a_picture_that_cannot_be_written(five: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A missing folder is told in plain words, after the readings."""
    assert main(["seasons", *map(str, five), "-o", str(tmp_path / "nowhere" / "a.svg")]) == 2
    out, err = capsys.readouterr()
    assert "projected in" in out
    assert "cannot be written: No such file" in err


def test_two_seasons_are_points_without_a_line(five: list[Path], tmp_path: Path) -> None:
    """Two seasons are drawn as they are, and no line is laid through them; what has no hours is counted under the picture."""
    path = tmp_path / "two.svg"
    late = kept_job(
        tmp_path / "late.job", "2026-10-01", kept("310", gap("12"), reading("rest", "", "12.6", "V", step="rest"))
    )
    assert main(["seasons", str(five[4]), str(late), "-o", str(path)]) == 0
    [panel] = ElementTree.parse(path).getroot().findall(f"{SVG}g")
    assert len(panel.findall(f"{SVG}circle")) == 2
    assert all(p.get("stroke-dasharray") is None for p in panel.findall(f"{SVG}path"))
    assert "1 readings without two seasons of engine hours are not drawn" in path.read_text(encoding="utf-8")


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4))
def test_scales_are_round_numbers(low: float, wide: float) -> None:
    """Two to six multiples of 1, 2 or 5 of a power of ten, evenly apart, all inside."""
    found = ticks(low, low + wide)
    assert 1 <= len(found) <= 6
    assert all(low - 1e-6 * wide <= float(t) <= (low + wide) + 1e-6 * wide for t in found)
    steps = {b - a for a, b in pairwise(found)}
    assert len(steps) <= 1
    assert all(int(str(step.normalize().as_tuple().digits[0])) in (1, 2, 5) for step in steps)


def test_a_season_job_keeps_to_numbers(tmp_path: Path) -> None:
    """What is no number, or has no unit of the list, is no value of a season."""
    odd = [reading("look", "", "clean", ""), reading("a", "", "many", "psi"), reading("b", "", "NaN", "psi"), gap("5")]
    jobs: tuple[SeasonJob, ...] = read_seasons(
        [kept_job(tmp_path / f"{n}.job", f"202{n}-10-01", kept(f"{n}00", *odd)) for n in (1, 2)]
    )
    assert [t.name for t in trends_of(jobs)] == ["gap"]
    assert jobs[0].season(("nowhere", "gap", "")) is None
