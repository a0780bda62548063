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
from assistant.devices.linear_codes.code_128 import match_code_128, match_code_128_at
from assistant.devices.linear_codes.ean_codes import Match, match_ean, match_ean_at
from assistant.devices.linear_codes.lines import lines_of
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


SURE = Bounds(0.14, 0.4, 0.05)
"""Set on pictures of the tuning seeds (`assistant/measure/label_pictures.py`) and some softened more. Of the wrong matches,
in print, stripes, other symbologies and codes too damaged, `ahead` was at most 0.06, but for one of 0.26: under a patch of
glare bars look thinner, which no kernel here does. The upper and the lower half must say the same, besides."""


def read_linear(grey: Picture) -> tuple[Label, ...]:
    """Every label that can be believed, one a region of bars, each once."""
    found = (_read(strip) for strip in bar_strips(grey))
    return tuple(dict.fromkeys(label for label in found if label))


def _read(strip: Strip) -> Label | None:
    lines = lines_of(strip)
    ends = (strip.begin, strip.end), (lines[0].size - strip.end, lines[0].size - strip.begin)
    for (whole, *halves), (begin, end) in zip((lines, [line[::-1] for line in lines]), ends, strict=True):
        for match in _matches(whole, begin, end):
            if SURE.hold(match) and all(_text_at(half, match) == match.text for half in halves):
                return Label(match.symbology, match.text)
    return None


def _matches(line: Line, begin: float, end: float) -> Iterator[Match]:
    """The likeliest symbol of each kind, read this way."""
    for frame in (EAN_13, EAN_8):
        if match := match_ean(line, begin, end, frame):
            yield match
    if match := match_code_128(line, begin, end):
        yield match


def _text_at(line: Line, match: Match) -> str:
    """What another line says of a symbol of the same frame at the same place."""
    if match.frame in (EAN_13, EAN_8):
        return match_ean_at(line, match.frame, match.geometry).text
    other = match_code_128_at(line, match.frame, [match.geometry])
    return other.text if other else ""
