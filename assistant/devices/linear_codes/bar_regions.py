"""Where bars stand side by side, and the picture turned so that they stand upright.

The structure tensor (Bigun and Granlund 1987) finds where edges are many and all one way; there the picture is turned,
and cut to where the bars begin and end. What is cut may be no bar code at all: that is for the matching to tell.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.devices.camera import quiet_opencv
from assistant.devices.protocols import Picture

Plane = npt.NDArray[np.float32]

LOOKED_AT_PX, MOST_SHRUNK = 640, 3.0
"""Long side at which regions are looked for; a large photograph is shrunk so many times at most, or fine bars vanish."""
MOST_REGIONS = 4
LEAST_LONG_PX, LEAST_HIGH_PX = 60, 8
"""A region that is smaller holds nothing that could be read."""
AROUND = 0.18
"""Of the bars' breadth, taken along at each end: the quiet zone."""
LARGE_PX = 1600
"""Longest strip; a larger one is looked at smaller."""
CUT_AGAIN_BELOW = 0.9
"""Scale below which a region's ends are found first, and it is then cut from the picture as it is."""


@dataclass(frozen=True, eq=False)
class Strip:
    """A cut with upright bars: rows by columns. The bars lie from column `begin` to column `end`, roughly."""

    pixels: Plane
    begin: float
    end: float


def bar_strips(grey: Picture) -> Iterator[Strip]:
    """The strongest regions, best first."""
    cv2 = quiet_opencv()
    scale = min(max(1.0, max(grey.shape) / LOOKED_AT_PX), MOST_SHRUNK)
    small = cv2.resize(grey, None, fx=1 / scale, fy=1 / scale, interpolation=cv2.INTER_AREA)
    one_way, turn = _one_way(small)
    for _ in range(MOST_REGIONS):
        y, x = np.unravel_index(int(np.argmax(one_way)), one_way.shape)
        if one_way[y, x] <= 0:
            return
        cut = _cut(grey, (float(x * scale), float(y * scale)), float(turn[y, x]))
        _blot_out(one_way, (int(x), int(y)), float(turn[y, x]), cut, scale)
        if cut is not None and cut.strip is not None:
            yield cut.strip


def _one_way(small: Picture) -> tuple[Plane, Plane]:
    """How much the edges about each pixel run one way, and the reading direction there in degrees (-90 to 90)."""
    cv2 = quiet_opencv()
    calm = cv2.GaussianBlur(small, (3, 3), 0)
    gx, gy = cv2.Scharr(calm, cv2.CV_32F, 1, 0), cv2.Scharr(calm, cv2.CV_32F, 0, 1)
    xx, yy, xy = (cv2.boxFilter(a, -1, (33, 33)) for a in (gx * gx, gy * gy, gx * gy))
    along = np.hypot(xx - yy, 2 * xy)
    coherent = along / (xx + yy + 50.0)
    return along * coherent, np.degrees(0.5 * np.arctan2(2 * xy, xx - yy))


@dataclass(frozen=True, eq=False)
class _Cut:
    """half: of the region's length and height in the picture's pixels; middle: where it lies."""

    half: tuple[float, float]
    middle: tuple[float, float]
    strip: Strip | None


def _cut(grey: Picture, at: tuple[float, float], turn_deg: float) -> _Cut | None:
    cv2 = quiet_opencv()
    reach = int(min(2 * max(grey.shape), 1.15 * float(np.hypot(*grey.shape))))
    scale = min(1.0, LARGE_PX / reach)
    side = int(reach * scale)
    matrix = cv2.getRotationMatrix2D(at, turn_deg, scale)
    matrix[:, 2] += side / 2 - np.array(at)
    turned = cv2.warpAffine(grey, matrix, (side, side), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    box = _extent(turned)
    if box is None:
        return None
    x0, x1, y0, y1 = box
    back = cv2.invertAffineTransform(matrix)
    middle = back @ np.array([(x0 + x1) / 2, (y0 + y1) / 2, 1.0])
    half = ((x1 - x0) / 2 / scale, (y1 - y0) / 2 / scale)
    if x1 - x0 < LEAST_LONG_PX or y1 - y0 < LEAST_HIGH_PX:
        return _Cut(half, (middle[0], middle[1]), None)
    if scale < CUT_AGAIN_BELOW:
        return _Cut(half, (middle[0], middle[1]), _cut_again(grey, (middle[0], middle[1]), half, turn_deg))
    more = AROUND * (x1 - x0)
    left, right = int(max(0, x0 - more)), int(min(side, x1 + more))
    pixels = turned[y0:y1, left:right].astype(np.float32)
    return _Cut(half, (middle[0], middle[1]), Strip(pixels, x0 - left, x1 - left))


def _cut_again(grey: Picture, at: tuple[float, float], half: tuple[float, float], turn_deg: float) -> Strip:
    """The same region of a large photograph, as fine as it is there."""
    cv2 = quiet_opencv()
    scale = min(1.0, LARGE_PX / (2 * half[0] * (1 + 2 * AROUND)))
    begin, long = 2 * AROUND * half[0] * scale, 2 * half[0] * scale
    size = (int(long + 2 * begin), max(1, int(2 * half[1] * scale)))
    matrix = cv2.getRotationMatrix2D(at, turn_deg, scale)
    matrix[:, 2] += np.array(size) / 2 - np.array(at)
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    pixels = cv2.warpAffine(grey, matrix, size, flags=how, borderMode=cv2.BORDER_REPLICATE)
    return Strip(pixels.astype(np.float32), begin, begin + long)


def _extent(turned: Picture) -> tuple[int, int, int, int] | None:
    """Columns and rows of the bars about the middle: where upright edges outweigh flat ones."""
    cv2 = quiet_opencv()
    side = turned.shape[0]
    small = cv2.resize(turned, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    gx, gy = cv2.Scharr(small, cv2.CV_32F, 1, 0), cv2.Scharr(small, cv2.CV_32F, 0, 1)
    upright = cv2.boxFilter(np.abs(gx) - np.abs(gy), -1, (21, 9))
    middle = side // 4
    peak = float(np.median(upright[middle - 4 : middle + 5, middle - 8 : middle + 9]))
    if peak <= 0:
        return None
    mask = (upright > 0.15 * peak).astype(np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
    name = int(labels[middle, middle])
    if not name:
        return None
    ours = labels == name
    x, y = int(stats[name, 0]), int(stats[name, 1])
    wide, high = int(stats[name, 2]), int(stats[name, 3])
    rows = np.flatnonzero(ours[y : y + high, x : x + wide].mean(axis=1) > 0.6) + y
    if rows.size == 0:
        return None
    y0, y1 = int(rows[0]), int(rows[-1]) + 1
    columns = np.flatnonzero(ours[y0:y1].mean(axis=0) > 0.5)
    if columns.size == 0:
        return None
    return 2 * int(columns[0]) + 10, 2 * int(columns[-1]) - 8, 2 * y0 + 4, 2 * y1 - 4


def _blot_out(one_way: Plane, at: tuple[int, int], turn_deg: float, cut: _Cut | None, scale: float) -> None:
    """What was looked at is not looked at again."""
    cv2 = quiet_opencv()
    cv2.circle(one_way, at, 24, 0.0, -1)
    if cut is not None:
        middle = (cut.middle[0] / scale, cut.middle[1] / scale)
        size = (2 * cut.half[0] / scale + 45, 2 * cut.half[1] / scale + 45)
        corners = cv2.boxPoints((middle, size, turn_deg))
        cv2.fillPoly(one_way, [np.round(corners).astype(np.int32)], 0.0)
