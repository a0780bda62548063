"""What befalls a label before it is read: how it lies, what lies on it, how it is lit and photographed.

A damage has a strength that is drawn anew for each picture. Its range for measuring differs from that for tuning (the
first): nothing is measured on what it was tuned on. Lengths are in modules of the symbol, so that a damage is as bad for
a large symbol as for a small one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from assistant.devices.camera import quiet_opencv

Scene = npt.NDArray[np.float32]
"""Height by width, 0 black to 255 white; what is brighter than white is cut off by the camera."""
Use = Literal["tune", "measure"]
Span = tuple[float, float]


@dataclass(frozen=True)
class Lie:
    """How the label lies and how large it is seen. bend: half the angle that a curved packet turns away at the ends."""

    module_px: float
    turn_deg: float
    tilt_deg: float = 0.0
    bend_deg: float = 0.0


SIZES: Mapping[Use, Span] = {"tune": (2.0, 3.6), "measure": (1.9, 3.8)}
"""Pixels a module where the damage is not the size."""

STRENGTHS: Mapping[str, tuple[Span, Span, str]] = {
    "none": ((0, 0), (0, 0), ""),
    "turn": ((10, 350), (8, 352), "degrees"),
    "tilt": ((35, 58), (30, 62), "degrees away from the camera"),
    "blur": ((0.6, 1.1), (0.5, 1.2), "modules, standard deviation"),
    "motion": ((1.2, 2.6), (1.0, 2.8), "modules"),
    "jpeg": ((7, 20), (5, 22), "quality"),
    "glare": ((0.25, 0.6), (0.2, 0.65), "of the label's breadth"),
    "low light": ((10, 24), (8, 26), "mean grey"),
    "smear": ((3, 8), (3, 9), "marks"),
    "small": ((0.95, 1.35), (0.9, 1.4), "pixels a module"),
    "curved": ((48, 72), (45, 75), "degrees at the ends"),
    "several": ((0.5, 0.9), (0.45, 0.95), "of three others"),
}
"""By damage: from and to when tuning, from and to when measuring, in what."""


def strength_of(damage: str, use: Use, rng: np.random.Generator) -> float:
    """A strength for one picture."""
    tune, measure, _ = STRENGTHS[damage]
    return float(rng.uniform(*(tune if use == "tune" else measure)))


def smeared(scene: Scene, breadth_px: float, marks: float, rng: np.random.Generator) -> Scene:
    """Grease: strokes that darken, lighten or wipe out, soft at their edges, all over the middle of the scene."""
    cv2 = quiet_opencv()
    height, width = scene.shape
    for _ in range(round(marks)):
        cover = np.zeros_like(scene)
        reach = 0.45 * breadth_px
        at = rng.uniform(-reach, reach, 2) + np.array([width / 2, height / 2])
        end = at + rng.uniform(-0.4, 0.4, 2) * breadth_px
        thick = max(2, round(rng.uniform(0.02, 0.09) * breadth_px))
        cv2.line(cover, at.astype(int).tolist(), end.astype(int).tolist(), 1.0, thick)
        cover = cv2.GaussianBlur(cover, (0, 0), max(1.0, thick / 4)) * rng.uniform(0.35, 0.85)
        scene = scene * (1 - cover) + rng.uniform(20, 190) * cover
    return scene


def shining(scene: Scene, breadth_px: float, share: float, rng: np.random.Generator) -> Scene:
    """A lamp mirrored in the film: a bright spot with a soft edge, past white in its middle."""
    height, width = scene.shape
    y, x = np.mgrid[:height, :width].astype(np.float32)
    at = rng.uniform(-0.4, 0.4, 2) * breadth_px + (width / 2, height / 2)
    far = np.hypot((x - at[0]) / rng.uniform(0.8, 1.6), y - at[1]) / (share * breadth_px / 2)
    return np.asarray(scene + rng.uniform(180, 320) * np.exp(-np.square(far)), np.float32)


def out_of_focus(scene: Scene, sigma_px: float) -> Scene:
    """Soft, as a Gaussian."""
    return np.asarray(quiet_opencv().GaussianBlur(scene, (0, 0), max(0.05, sigma_px)))


def moved(scene: Scene, length_px: float, direction_rad: float) -> Scene:
    """Moved evenly while the shutter was open."""
    cv2 = quiet_opencv()
    half = int(np.ceil(length_px / 2)) + 1
    steps = np.linspace(-length_px / 2, length_px / 2, 64)
    kernel = np.zeros((2 * half + 1, 2 * half + 1), np.float32)
    for x, y in zip(steps * np.cos(direction_rad), steps * np.sin(direction_rad), strict=True):
        x0, y0 = int(np.floor(x)), int(np.floor(y))
        for dx, dy in ((0, 0), (1, 0), (0, 1), (1, 1)):
            kernel[half + y0 + dy, half + x0 + dx] += (1 - abs(x - x0 - dx)) * (1 - abs(y - y0 - dy))
    return np.asarray(cv2.filter2D(scene, -1, kernel / kernel.sum(), borderType=cv2.BORDER_REPLICATE))


def sensed(scene: Scene, mean: float | None, noise: float, rng: np.random.Generator) -> npt.NDArray[np.uint8]:
    """As the sensor gives it: light to `mean` where that is given, noise (standard deviation), eight bits."""
    light = 1.0 if mean is None else mean / max(1.0, float(scene.mean()))
    grain = rng.standard_normal(scene.shape, np.float32) * np.float32(noise)
    return np.clip(scene * np.float32(light) + grain, 0, 255).astype(np.uint8)


def compressed(picture: npt.NDArray[np.uint8], quality: float) -> npt.NDArray[np.uint8]:
    """Through JPEG and back."""
    cv2 = quiet_opencv()
    _, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, round(quality)])
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_GRAYSCALE))
