"""Why a frame can't be read, measured from its pixels, in words that tell the technician what to do.

Figures are of the whole grey frame, 0 black to 255 white. The bounds were set on this project's own demo pictures made
darker, brighter and softer (tests/test_devices_eyes.py holds them to it); no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

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

    def trouble(self) -> str:
        """What to do so that a label can be read."""
        if self.brightness < DARK_BELOW:
            return "It is too dark: more light on the label."
        if self.glare > GLARE_SHARE:
            return "It is too bright, the label shines: tilt it."
        if self.contrast >= FLAT_BELOW and self.sharpness < SOFT_BELOW:
            return "It is blurred: hold still, a hand's breadth away."
        if self.bars_px >= SMALL_BELOW_PX:
            return "I see bars and can't read them: turn it, flat to the camera, or hold it closer."
        if self.bars_px > 0:
            return "I see bars, too small to read: hold it closer."
        return "I see nothing that looks like a label: hold it closer."


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
