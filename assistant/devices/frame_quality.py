"""Why a frame can't be read, measured from its pixels, in words that tell the technician what to do.

Figures are of the whole grey frame, 0 black to 255 white. The bounds were set on this project's own demo pictures made
darker, brighter and softer (tests/test_devices_eyes.py holds them to it); no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assistant.core.speech.english import ENGLISH
from assistant.devices.camera import quiet_opencv
from assistant.devices.linear_codes.bar_regions import bar_strips
from assistant.devices.preparation import grey
from assistant.devices.protocols import Picture

DARK_BELOW = 45.0
GLARE_FROM = 252
GLARE_SHARE = 0.20
SOFT_BELOW = 0.02
FLAT_BELOW = 12.0
SMALL_BELOW_PX = 200.0
"""Bars less broad than this have two pixels a module or fewer (an EAN-13 has 95 modules)."""


@dataclass(frozen=True)
class FrameQuality:
    """brightness: mean; glare: share of pixels at full white; contrast: standard deviation; sharpness: how much of the
    contrast is in fine detail (variance of the Laplacian over the variance), which does not depend on the light; bars_px:
    how broad the broadest field of bars is, 0 where there is none.
    """

    brightness: float
    glare: float
    contrast: float
    sharpness: float
    bars_px: float = 0.0

    def light_trouble(self) -> str:
        """What is wrong with a picture of anything, "" where nothing is."""
        if self.brightness < DARK_BELOW:
            return ENGLISH.phrase("photograph dark")
        if self.glare > GLARE_SHARE:
            return ENGLISH.phrase("photograph shines")
        if self.contrast >= FLAT_BELOW and self.sharpness < SOFT_BELOW:
            return ENGLISH.phrase("photograph blurred")
        return ""

    def trouble(self) -> str:
        """What to do so that a label can be read."""
        if self.brightness < DARK_BELOW:
            return ENGLISH.phrase("label dark")
        if self.glare > GLARE_SHARE:
            return ENGLISH.phrase("label shines")
        if self.contrast >= FLAT_BELOW and self.sharpness < SOFT_BELOW:
            return ENGLISH.phrase("label blurred")
        if self.bars_px >= SMALL_BELOW_PX:
            return ENGLISH.phrase("bars unread")
        if self.bars_px > 0:
            return ENGLISH.phrase("bars small")
        return ENGLISH.phrase("nothing like a label")


def measure_frame(picture: Picture) -> FrameQuality:
    """The figures of one frame, at 640 pixels so that the sensor's noise does not count as detail."""
    cv2 = quiet_opencv()
    flat = grey(picture)
    scale = min(1.0, 640 / max(flat.shape))
    small = cv2.resize(flat, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA).astype(np.float32)
    variance = float(small.var())
    detail = float(cv2.Laplacian(small, cv2.CV_32F).var())
    return FrameQuality(
        brightness=float(small.mean()),
        glare=float((flat >= GLARE_FROM).mean()),
        contrast=variance**0.5,
        sharpness=detail / variance if variance else 0.0,
        bars_px=_bars_px(flat),
    )


def _bars_px(flat: Picture) -> float:
    found = (strip.end - strip.begin for strip in bar_strips(flat) if strip.pixels.std() >= FLAT_BELOW)
    return max(found, default=0.0)


def png(picture: Picture) -> bytes:
    """The frame as a PNG file, quickly rather than small."""
    cv2 = quiet_opencv()
    good, data = cv2.imencode(".png", picture, [cv2.IMWRITE_PNG_COMPRESSION, 1])
    assert good, "OpenCV writes any 8 bit picture as PNG"
    return bytes(data)
