"""Where in a picture a label was read, and by that whether two readings are of one symbol."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.core.events import Label
from assistant.core.labels.meaning import PRODUCT_SYMBOLOGIES
from assistant.devices.camera import quiet_opencv
from assistant.devices.preparation import Matrix

Corners = npt.NDArray[np.float32]
"""Of the rectangle round what was read of a symbol, in pixels (x, y): 4 by 2; 0 by 2 where a decoder does not say."""


@dataclass(frozen=True, eq=False)
class Found:
    """A label, and where in the picture the lines lie that it was read from: seldom all of the symbol."""

    label: Label
    corners: Corners

    def seen_from(self, back: Matrix) -> Found:
        """The same in another picture's pixels: `back` leads from this one's to those."""
        return Found(self.label, corners_of(self.corners @ back[:, :2].T + back[:, 2]))


def corners_of(points: npt.ArrayLike) -> Corners:
    """Of the least rectangle round these points (x, y)."""
    cv2, at = quiet_opencv(), np.asarray(points, np.float32).reshape(-1, 2)
    return cv2.boxPoints(cv2.minAreaRect(at)) if at.size else at


LEAST_HEIGHT = 0.15
"""Of its length: no linear symbol is printed lower (ISO/IEC 15417 and 16388, from memory), so a reading from a few lines
stands for so much. Lines of one symbol that were read as two texts lay apart by 0.07 of its length at most, and mostly
over each other, in 941 pictures of the tuning seeds."""

MARGIN_PX = 4
"""A point may lie so far off: both decoders round, and on a rung of half the size by twice as much."""


def are_rivals(one: Found, other: Found) -> bool:
    """Whether one symbol was read as two texts: two readings of one kind at one place, in pixels of the same picture.

    Symbols side by side keep their quiet zones between them, and those above each other the line of print.
    """
    if (
        one.label == other.label
        or _kind(one.label) != _kind(other.label)
        or not (one.corners.size and other.corners.size)
    ):
        return False
    cv2 = quiet_opencv()
    return bool(cv2.rotatedRectangleIntersection(_stands_for(one), _stands_for(other))[0] != cv2.INTERSECT_NONE)


def _kind(label: Label) -> str:
    """EAN-8, UPC-E and ITF-14 are found in the bars of an EAN-13; FNC1 is all that tells GS1-128 from Code 128."""
    return "product" if label.symbology in PRODUCT_SYMBOLOGIES else label.symbology.replace("GS1-128", "CODE-128")


def _stands_for(found: Found) -> Any:
    """The rectangle as OpenCV has it, as high as a symbol is at least."""
    middle, sides, turn_deg = quiet_opencv().minAreaRect(found.corners)
    least = LEAST_HEIGHT * max(sides)
    return middle, tuple(max(side, least) + MARGIN_PX for side in sides), turn_deg


def unrivalled(found: Sequence[Found]) -> tuple[Label, ...]:
    """The labels of one picture, each once, less those of a symbol that was read as two."""
    return tuple(dict.fromkeys(one.label for one in found if not any(are_rivals(one, other) for other in found)))
