"""From a strip to lines of darkness: bars set upright, rows averaged, light and shade evened out."""

from __future__ import annotations

import numpy as np

from assistant.devices.camera import quiet_opencv
from assistant.devices.linear_codes.bar_regions import Plane, Strip
from assistant.devices.linear_codes.rendering import Line

SHEARS = np.linspace(-0.10, 0.10, 21)
"""Columns a row by which the bars may still lean: the structure tensor is right within some degrees."""
SHEARED_ROWS = 24
"""To how many rows a strip is averaged while its lean is looked for."""


def upright(strip: Strip) -> Strip:
    """Sheared so that the mean line is sharpest."""
    height = strip.pixels.shape[0]
    rows = min(height, SHEARED_ROWS)
    low = quiet_opencv().resize(strip.pixels, (strip.pixels.shape[1], rows), interpolation=quiet_opencv().INTER_AREA)
    inside = slice(int(strip.begin), int(strip.end))

    def sharpness(lean: float) -> float:
        line = _sheared(low, lean * height / rows).mean(axis=0)
        return float(np.square(np.diff(line[inside])).sum())

    best = max(SHEARS, key=sharpness)
    best = max(best + np.linspace(-0.008, 0.008, 5), key=sharpness)
    return Strip(_sheared(strip.pixels, float(best)), strip.begin, strip.end)


def _sheared(pixels: Plane, lean: float) -> Plane:
    cv2 = quiet_opencv()
    height, width = pixels.shape
    matrix = np.array([[1.0, lean, -lean * height / 2], [0.0, 1.0, 0.0]])
    return np.asarray(cv2.warpAffine(pixels, matrix, (width, height), borderMode=cv2.BORDER_REPLICATE))


def lines_of(strip: Strip) -> tuple[Line, Line, Line]:
    """Darkness along the strip: the mean of all its rows, of the upper half, of the lower half."""
    rows = upright(strip).pixels
    half = rows.shape[0] // 2
    whole, upper, lower = (
        darkness(np.asarray(part.mean(axis=0), np.float32), strip) for part in (rows, rows[:half], rows[half:])
    )
    return whole, upper, lower


def darkness(line: Line, strip: Strip) -> Line:
    """0 where it is as light as paper hereabouts, 1 where as dark as ink."""
    cv2 = quiet_opencv()
    reach = max(5, int((strip.end - strip.begin) / 7)) | 1
    row = line[None, :]
    paper = cv2.dilate(row, np.ones((1, reach), np.uint8))
    ink = cv2.erode(row, np.ones((1, reach), np.uint8))
    paper, ink = (cv2.blur(edge, (reach, 1)) for edge in (paper, ink))
    inside = slice(int(strip.begin), max(int(strip.begin) + 1, int(strip.end)))
    least = 0.35 * float(np.median((paper - ink)[0, inside]))
    return np.asarray(((paper - row) / np.maximum(paper - ink, max(least, 1.0)))[0], np.float32)
