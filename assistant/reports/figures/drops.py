"""Cylinder drop test: how much slower the engine runs with each cylinder cut out, against the mean of all.

Known by a limit by `drop_test`. The verdict and every number are its own (`core.trade.drop_test`, with its sources).
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.core.procedure import Limit
from assistant.core.trade import drop_test as trade
from assistant.core.trade.figure import Figure
from assistant.core.units import Amount
from assistant.reports.figures.drawing import Drawn, framed
from assistant.reports.figures.notes import Mark, Note
from assistant.reports.figures.places import by_place, places_of, sentence, unit_of
from assistant.reports.figures.rows import PLACES_MOST, Bar, Chart, Row, drawn_rows
from assistant.reports.figures.told import ReadingSet, worked_out
from assistant.reports.figures.told import Told as Texts
from assistant.reports.looks import told
from assistant.reports.values import Value, spaced

DROP_TEST = trade.drop_test.__name__
MEAN = "mean_drop"


def drops(found: ReadingSet, texts: Texts, values: Sequence[Value]) -> Drawn | None:
    """The figure; None where the reading is no drop test. What cannot be worked out is told beside the speeds."""
    limit = found.limit_by(DROP_TEST)
    if limit is None or not found.points or not found.points[0].value.place:
        return None
    if not found.complete:
        return by_place(found, ("The drops are told when every cylinder has been cut out",))
    figure = worked_out(limit, found.points[0], texts, values)
    if not isinstance(figure, Figure):
        return by_place(found, (f"The drops cannot be told: {figure}",))
    return _drawn(found, limit, figure)


def _drawn(found: ReadingSet, limit: Limit, figure: Figure) -> Drawn:
    beside = dict(figure.beside)
    mean = beside[MEAN]
    assert isinstance(mean, Amount)
    each = [amount.value for name, amount in figure.beside if name != MEAN and isinstance(amount, Amount)]
    points = found.points[:PLACES_MOST]
    rows = tuple(
        Row(p.value.place, (Bar(drop, f"{Amount(drop, 'rpm')}, to {p.value.written}"),), p.value.verdict)
        for p, drop in zip(points, each, strict=False)
    )
    half = mean.value * trade.WEAK_PERCENT / 100
    marks = (Mark(mean.value, f"mean drop {mean}"), Mark(half, f"half of it {Amount(half, 'rpm')}"))
    foot = (
        Note(f"Least drop: {figure.answer}; {told(figure.verdict or '')}", figure.verdict or ""),
        Note(figure.working[-1]),
    )
    parts, tall = drawn_rows(Chart(rows, unit_of(found), (None, None), marks, None, foot))
    title = f"Drop test: {spaced(found.name)} by {places_of(points)}"
    told_drops = "; ".join(f"{row.label} {row.bars[0].words}" for row in rows)
    alt = sentence(f"{title}: {told_drops}", f"mean drop {mean}", *(line.words for line in foot))
    caption = sentence(
        "How much slower it ran with each cylinder cut out", "a small drop is a weak cylinder", limit.source
    )
    return Drawn(found.step, found.name, title, caption, alt, framed(parts, tall, alt))
