"""How large things are on a wall card, in points: the page, the least that can be read, and the sizes that are tried."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

PAGE = (595.28, 841.89)
"""A4 (ISO 216: 210 mm x 297 mm), in points of 1/72 inch."""
MARGIN = 22.0
LEAST_PT = 6.5
"""Nothing is set smaller: 2.3 mm, a small x of 1.2 mm. From memory: print that is to be read is seldom set under 6 points."""
TITLE_PT, DETAIL_PT, STRIP_PT = 8.6, 6.9, 7.2
"""At scale 1."""
LARGEST, STEP = 2.2, 0.03
SMALLEST = LEAST_PT / DETAIL_PT
CLOSER = 0.2
"""By how much titles are made smaller still at the smallest scale, down to the size of the details."""
FOOT_PT = 6.6


@dataclass(frozen=True)
class Sizes:
    """How large all is: `scale`, and the size of a title at scale 1. Lanes are never narrower than their letters."""

    scale: float
    title_pt: float = TITLE_PT

    @property
    def title(self) -> float:
        """Of a step's title."""
        return self.title_pt * self.scale

    @property
    def detail(self) -> float:
        """Of what stands beside and under it."""
        return DETAIL_PT * self.scale

    @property
    def strip(self) -> float:
        """Of the name of a phase."""
        return STRIP_PT * self.scale

    @property
    def strip_height(self) -> float:
        """Of the line that names a phase."""
        return self.strip + 3.5

    @property
    def padding(self) -> float:
        """Over and under a row together; less where titles are made smaller."""
        return 3.1 * self.scale * (self.title_pt / TITLE_PT) ** 2

    @property
    def mark(self) -> float:
        """Of the small mark before a detail."""
        return 8.5 * self.scale

    @property
    def text_left(self) -> float:
        """From the lanes to the text: the number and the sign stand between."""
        return 38.0 * self.scale

    @property
    def lane(self) -> float:
        """Width of a lane."""
        return 8.4 * max(1.0, self.scale)

    @property
    def lane_text(self) -> float:
        """Of the names in and over the lanes."""
        return LEAST_PT * max(1.0, self.scale)


def sizes_to_try() -> Iterator[Sizes]:
    """The largest first; nothing under what can be read."""
    for n in range(int((LARGEST - SMALLEST) / STEP) + 1):
        yield Sizes(LARGEST - n * STEP)
    for n in range(int((TITLE_PT - DETAIL_PT) / CLOSER) + 1):
        yield Sizes(SMALLEST, TITLE_PT - n * CLOSER)


def line_height(size: float) -> float:
    """From one base line to the next."""
    return size * 1.15
