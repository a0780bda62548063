"""What is done to a picture so that a decoder reads what it could not: the ladder's rungs, each a grey picture or None.

None: this rung would change nothing here. A rung says how its pixels lie in the picture it was made from, so that what is
found on two rungs can be compared by its place. Nothing is decoded and nothing is decided in this file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from assistant.devices.camera import quiet_opencv
from assistant.devices.protocols import Picture

LARGE_PX = 2200
"""Long side above which a photograph is first looked at smaller: decoders take time by the pixel."""

SMALL_PX = 1000
"""Long side up to which a whole picture is enlarged; of a larger one only a part, for time."""

LEAST_TURN_DEG = 4.0
"""Both decoders read linear codes that are turned by less."""

Matrix = npt.NDArray[np.float64]
"""2 by 3, as OpenCV's affine maps have it."""


@dataclass(frozen=True, eq=False)
class Prepared:
    """A grey picture, and the map from its pixels (x, y) to those of the picture that it was made from."""

    picture: Picture
    back: Matrix = field(default_factory=lambda: np.eye(2, 3))


def _back(scale: float, x: int = 0, y: int = 0) -> Matrix:
    """Of a part that begins at (x, y), made `scale` times as large."""
    return np.array([[1 / scale, 0, x], [0, 1 / scale, y]])


def grey(picture: Picture) -> Picture:
    """Height by width, as the decoders want it."""
    if picture.ndim == 2:
        return picture
    cv2 = quiet_opencv()
    return cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY)  # type: ignore[no-any-return]


def at_least(least_px: int, picture: Picture) -> Picture:
    """The same, its last row and column repeated until it is so high and so broad: of a strip of bars a line is enough."""
    missing = [max(0, least_px - size) for size in picture.shape]
    return np.pad(picture, [(0, n) for n in missing], mode="edge") if any(missing) else picture


@dataclass(frozen=True)
class Bars:
    """Where the picture looks most like bars: its middle in pixels, and which way the reading goes.

    turn_deg: -45 to 45, from the picture's row or column, whichever is nearer.
    """

    x: int
    y: int
    turn_deg: float


def strongest_bars(picture: Picture) -> Bars:
    """By the structure tensor (Bigun and Granlund 1987): many edges, all one way. Looked for at about 640 pixels."""
    cv2 = quiet_opencv()
    scale = max(1.0, max(picture.shape) / 640)
    small = cv2.resize(picture, None, fx=1 / scale, fy=1 / scale, interpolation=cv2.INTER_AREA)
    calm = cv2.GaussianBlur(small, (5, 5), 0)  # finest bars give a gradient that is drawn to the pixel grid
    gx, gy = cv2.Scharr(calm, cv2.CV_32F, 1, 0), cv2.Scharr(calm, cv2.CV_32F, 0, 1)
    xx, yy, xy = (cv2.boxFilter(a, -1, (49, 49)) for a in (gx * gx, gy * gy, gx * gy))
    one_way = np.hypot(xx - yy, 2 * xy)
    y, x = np.unravel_index(int(np.argmax(one_way)), one_way.shape)
    turn = np.degrees(0.5 * np.arctan2(2 * xy[y, x], xx[y, x] - yy[y, x]))
    return Bars(int(x * scale), int(y * scale), float((turn + 45) % 90 - 45))


def shrunk(picture: Picture) -> Prepared | None:
    """A large photograph, smaller."""
    scale = LARGE_PX / 2 / max(picture.shape)
    if scale > 0.5:
        return None
    cv2 = quiet_opencv()
    return Prepared(cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), _back(scale))


def local_contrast(picture: Picture) -> Prepared:
    """Evened out by pieces (CLAHE): uneven light, smears."""
    return Prepared(quiet_opencv().createCLAHE(clipLimit=3.0, tileGridSize=(8, 8)).apply(picture))


def turned_straight(picture: Picture) -> Prepared | None:
    """Turned so that the strongest bars stand upright or lie flat."""
    turn_deg = strongest_bars(picture).turn_deg
    if abs(turn_deg) < LEAST_TURN_DEG:
        return None
    cv2 = quiet_opencv()
    height, width = picture.shape
    c, s = abs(np.cos(np.radians(turn_deg))), abs(np.sin(np.radians(turn_deg)))
    new_w, new_h = int(width * c + height * s), int(width * s + height * c)
    matrix = cv2.getRotationMatrix2D((width / 2, height / 2), turn_deg, 1.0)
    matrix[:, 2] += (new_w - width) / 2, (new_h - height) / 2
    straight = cv2.warpAffine(picture, matrix, (new_w, new_h), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    return Prepared(straight, cv2.invertAffineTransform(matrix))


def enlarged(picture: Picture) -> Prepared:
    """Twice the size and sharpened: small modules, soft focus. Of a large picture the half around the bars."""
    cv2 = quiet_opencv()
    x, y, part = (0, 0, picture) if max(picture.shape) <= SMALL_PX else _half_around(picture, strongest_bars(picture))
    double = cv2.resize(part, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    return Prepared(cv2.addWeighted(double, 2.0, cv2.GaussianBlur(double, (0, 0), 3), -1.0, 0), _back(2, x, y))


def _half_around(picture: Picture, bars: Bars) -> tuple[int, int, Picture]:
    """Where it begins, and the part."""
    half_h, half_w = picture.shape[0] // 2, picture.shape[1] // 2
    x = max(0, min(bars.x - half_w // 2, picture.shape[1] - half_w))
    y = max(0, min(bars.y - half_h // 2, picture.shape[0] - half_h))
    return x, y, picture[y : y + half_h, x : x + half_w]


def black_and_white(picture: Picture) -> Prepared:
    """Each pixel against its neighbourhood: shadows across the label."""
    cv2 = quiet_opencv()
    calm = cv2.GaussianBlur(picture, (3, 3), 0)
    return Prepared(cv2.adaptiveThreshold(calm, 255, cv2.ADAPTIVE_THRESH_GAUSSIAN_C, cv2.THRESH_BINARY, 41, 7))


def calmed(picture: Picture) -> Prepared:
    """Specks taken out (median of 3 by 3) and half the size: noise in poor light, large modules with dirt in them."""
    cv2 = quiet_opencv()
    calm = cv2.medianBlur(picture, 3)
    return Prepared(cv2.resize(calm, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), _back(0.5))


def as_it_is(picture: Picture) -> Prepared:
    """Nothing done."""
    return Prepared(picture)


Rung = Callable[[Picture], Prepared | None]

LADDER: Mapping[str, Rung] = {
    "shrunk": shrunk,
    "as it is": as_it_is,
    "turned straight": turned_straight,
    "local contrast": local_contrast,
    "enlarged": enlarged,
    "calmed": calmed,
    "black and white": black_and_white,
}
"""From grey to what a decoder gets, the likeliest first."""
