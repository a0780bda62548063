"""Our own reader of worn linear codes: EAN-13, UPC-A, EAN-8, Code 128 and GS1-128, where zbar and zxing find nothing.

It takes no edge for granted. Each region of bars is set upright, its rows are averaged, and every symbol that could stand
there is compared with what is seen, blurred as it is (maximum likelihood under a linear model of light and lens, in the
manner of Gallo and Manduchi, "Reading 1D barcodes with mobile phones using deformable templates", 2011; from memory). What
is likeliest is believed only where it explains the line and everything else with a right check digit is far behind.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.core.events import Label
from assistant.devices.linear_codes.bar_regions import Strip, bar_strips
from assistant.devices.linear_codes.code_128 import match_code_128
from assistant.devices.linear_codes.ean_codes import Match, match_ean
from assistant.devices.linear_codes.lines import line_of
from assistant.devices.linear_codes.rendering import EAN_8, EAN_13, Line
from assistant.devices.protocols import Picture


@dataclass(frozen=True)
class Bounds:
    """What must hold so that a match is believed."""

    left_at_most: float
    ahead_at_least: float
    forced_at_most: float

    def hold(self, match: Match) -> bool:
        """Whether it is believed by itself."""
        return (
            match.left <= self.left_at_most
            and match.ahead >= self.ahead_at_least
            and match.forced <= self.forced_at_most
        )


SURE = Bounds(0.14, 0.3, 0.05)
"""Set on pictures of the tuning seeds (`assistant/measure/label_pictures.py`). Of 725 wrong matches there, in print, stripes,
other symbologies and codes too blurred, none had `ahead` above 0.21 or `left` below 0.15; of the right ones on codes that both
decoders miss 81 of 88 hold these bounds."""


def read_linear(grey: Picture) -> tuple[Label, ...]:
    """Every label that can be believed, one a region of bars, each once."""
    found = (next(filter(SURE.hold, matches(strip)), None) for strip in bar_strips(grey))
    return tuple(dict.fromkeys(Label(match.symbology, match.text) for match in found if match))


def matches(strip: Strip) -> Iterator[Match]:
    """The likeliest symbol of each kind, both ways, on the mean line of the whole strip."""
    whole = line_of(strip)
    for line, begin, end in (
        (whole, strip.begin, strip.end),
        (whole[::-1], whole.size - strip.end, whole.size - strip.begin),
    ):
        yield from _one_way(line, begin, end)


def _one_way(line: Line, begin: float, end: float) -> Iterator[Match]:
    for frame in (EAN_13, EAN_8):
        if m := match_ean(line, begin, end, frame):
            yield m
    if m := match_code_128(line, begin, end):
        yield m
