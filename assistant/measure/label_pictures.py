"""Pictures of labels on a bench, 1280 by 720, each from a seed: a symbol of `label_symbols` with a damage of `label_damage`.

The scene is drawn at twice the size and averaged down, as a lens and a sensor do it. Grey: no decoder looks at colour.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from assistant.devices.camera import HEIGHT, WIDTH, quiet_opencv
from assistant.devices.protocols import Picture
from assistant.measure.label_damage import (
    SIZES,
    STRENGTHS,
    Lie,
    Scene,
    Use,
    compressed,
    moved,
    out_of_focus,
    sensed,
    shining,
    smeared,
    strength_of,
)
from assistant.measure.label_symbols import KINDS, Symbol, draw_symbol

OVER = 2
"""Scene pixels a picture pixel, each way."""
FAR = 3.0
"""Distance of the camera, in breadths of the picture: how much a tilted label narrows."""
SEEDS: dict[Use, int] = {"tune": 1_000_000, "measure": 2_000_000}
NO_LABEL = ("text", "stripes", "bench")


@dataclass(frozen=True, eq=False)
class LabelPicture:
    """One picture and what is in it: symbology and text "" where there is no label."""

    symbology: str
    damage: str
    text: str
    picture: Picture
    linear: bool = True
    checked: bool = True


@dataclass(frozen=True)
class Shot:
    """Which picture: the `number`-th of this symbology and damage; symbology "" and one of `NO_LABEL` where no label is."""

    symbology: str
    damage: str
    number: int


def shots(each: int, first: int = 0) -> Iterator[Shot]:
    """`each` of every symbology and damage and of every kind of `NO_LABEL`, from the `first` on."""
    for number in range(first, first + each):
        yield from (Shot(symbology, damage, number) for symbology in KINDS for damage in STRENGTHS)
        yield from (Shot("", kind, number) for kind in NO_LABEL)


def take(shot: Shot, use: Use) -> LabelPicture:
    """The picture, from its seed: the same each time; those of one use are never those of the other."""
    if not shot.symbology:
        rng = np.random.default_rng((SEEDS[use], 99, NO_LABEL.index(shot.damage), shot.number))
        return LabelPicture("", shot.damage, "", _photographed(_decoy(shot.damage, rng), 3.0, "none", use, rng))
    cell = list(KINDS).index(shot.symbology), list(STRENGTHS).index(shot.damage)
    return draw_picture(shot.symbology, shot.damage, use, np.random.default_rng((SEEDS[use], *cell, shot.number)))


def draw_picture(symbology: str, damage: str, use: Use, rng: np.random.Generator) -> LabelPicture:
    """One symbol, damaged so."""
    symbol = draw_symbol(symbology, rng)
    lie = _lie(symbol, damage, use, rng)
    scene = _scene(symbol, lie, rng)
    picture = _photographed(
        scene, lie.module_px, damage, use, rng, symbol.modules.shape[1] * lie.module_px, lie.turn_deg
    )
    return LabelPicture(symbology, damage, symbol.text, picture, symbol.linear, symbol.checked)


def _lie(symbol: Symbol, damage: str, use: Use, rng: np.random.Generator) -> Lie:
    strength = strength_of(damage, use, rng) if damage in ("turn", "tilt", "small", "curved") else 0.0
    fits_px = 0.8 * HEIGHT / symbol.modules.shape[1] if damage == "turn" else 0.85 * WIDTH / symbol.modules.shape[1]
    larger = 1.0 if symbol.linear else 1.8  # matrix symbols are printed with larger modules
    size = strength if damage == "small" else min(float(rng.uniform(*SIZES[use])), fits_px)
    return Lie(
        size * larger,
        strength if damage == "turn" else float(rng.uniform(-4, 4)),
        strength if damage == "tilt" else 0.0,
        strength if damage == "curved" else 0.0,
    )


def _scene(symbol: Symbol, lie: Lie, rng: np.random.Generator) -> Scene:
    """The label laid on the bench, drawn at OVER times the picture's size."""
    cv2 = quiet_opencv()
    per_module = max(2, round(OVER * lie.module_px))
    face, paper = _face(symbol, per_module, rng)
    if lie.bend_deg:
        face, paper = (_bent(layer, lie.bend_deg) for layer in (face, paper))
    matrix = _placed(face.shape, lie, OVER * lie.module_px / per_module, rng)
    size = (OVER * WIDTH, OVER * HEIGHT)
    shown, where = (
        cv2.resize(cv2.warpPerspective(layer, matrix, size), (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA)
        for layer in (face, paper)
    )
    return np.asarray(_bench(rng) * (1 - where) + shown)


def _face(symbol: Symbol, per_module: int, rng: np.random.Generator) -> tuple[Scene, Scene]:
    """A white packet with the symbol, its text below; and where the packet is (all ones)."""
    cv2 = quiet_opencv()
    bars = np.kron(symbol.modules, np.ones((per_module, per_module), np.uint8))
    ink, white = int(rng.integers(15, 60)), int(rng.integers(190, 240))
    quiet = round(11 * per_module)
    below = 14 * per_module
    face = np.full((bars.shape[0] + 2 * quiet + below, bars.shape[1] + 2 * quiet), white, np.uint8)
    face[quiet : quiet + bars.shape[0], quiet : quiet + bars.shape[1]] = np.where(bars, white, ink)
    at = (quiet, quiet + bars.shape[0] + 9 * per_module)
    cv2.putText(
        face,
        symbol.text[:24],
        at,
        cv2.FONT_HERSHEY_SIMPLEX,
        per_module / 3.5,
        ink,
        max(1, per_module // 2),
        cv2.LINE_AA,
    )
    return face.astype(np.float32), np.ones(face.shape, np.float32)


def _bent(layer: Scene, ends_deg: float) -> Scene:
    """Round an upright can: seen from the front, the ends are foreshortened."""
    height, width = layer.shape
    ends = np.radians(ends_deg)
    seen = np.linspace(-np.sin(ends), np.sin(ends), max(2, round(width * np.sin(ends) / ends)), dtype=np.float32)
    across = (np.arcsin(seen) / ends + 1) / 2 * (width - 1)
    x = np.tile(across.astype(np.float32), (height, 1))
    y = np.tile(np.arange(height, dtype=np.float32)[:, None], (1, x.shape[1]))
    return np.asarray(quiet_opencv().remap(layer, x, y, quiet_opencv().INTER_LINEAR))


def _placed(shape: tuple[int, ...], lie: Lie, scale: float, rng: np.random.Generator) -> np.ndarray:
    """From the face's pixels to the scene's: scaled, tilted about an axis of any direction, turned, moved to the middle."""
    half = np.array([shape[1], shape[0]]) / 2
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half * scale
    tilt, axis = np.radians(lie.tilt_deg), rng.uniform(0, np.pi)
    along, across = np.array([np.cos(axis), np.sin(axis)]), np.array([-np.sin(axis), np.cos(axis)])
    lies = np.outer(corners @ along, along) + np.outer(corners @ across * np.cos(tilt), across)
    depth = 1 + corners @ across * np.sin(tilt) / (FAR * OVER * WIDTH)
    turn = np.radians(lie.turn_deg)
    turned = (lies / depth[:, None]) @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    middle = np.array([WIDTH, HEIGHT]) * OVER / 2 + rng.uniform(-20, 20, 2) * OVER
    source = np.array([[0, 0], [shape[1], 0], [shape[1], shape[0]], [0, shape[0]]], np.float32)
    matrix: np.ndarray = quiet_opencv().getPerspectiveTransform(source, (turned + middle).astype(np.float32))
    return matrix


def _bench(rng: np.random.Generator) -> Scene:
    """A bench top, dark and uneven, with brushed streaks."""
    cv2 = quiet_opencv()
    rough = cv2.resize(rng.standard_normal((9, 16), np.float32), (WIDTH, HEIGHT), interpolation=cv2.INTER_CUBIC)
    streaks = cv2.resize(rng.standard_normal((360, 24), np.float32), (WIDTH, HEIGHT))
    return np.asarray(np.clip(rng.uniform(50, 110) + 14 * rough + 8 * streaks, 0, 255))


def _decoy(kind: str, rng: np.random.Generator) -> Scene:
    """A packet without a code, with print or with stripes on it; or no packet."""
    cv2 = quiet_opencv()
    scene = _bench(rng)
    if kind == "bench":
        return scene
    face = np.full((int(rng.integers(160, 500)), int(rng.integers(300, 900))), int(rng.integers(180, 240)), np.uint8)
    if kind == "stripes":
        width = rng.integers(2, 9)
        bars = np.repeat(rng.integers(0, 2, face.shape[1] // width + 1), width)[: face.shape[1]]
        face[30:-30, 40:-40] = np.where(bars, face, 40)[30:-30, 40:-40]
    for row in range(40, face.shape[0] - 10, int(rng.integers(20, 50))) if kind == "text" else ():
        words = " ".join("".join(rng.choice(list("ILMTHNE1074 |"), 6)) for _ in range(9))
        cv2.putText(face, words, (20, row), cv2.FONT_HERSHEY_SIMPLEX, rng.uniform(0.5, 1.3), 40, 2, cv2.LINE_AA)
    lie = Lie(1, float(rng.uniform(-30, 30)), float(rng.uniform(0, 40)))
    matrix = _placed(face.shape, lie, float(OVER), rng) / np.array([[OVER], [OVER], [1]])
    where = cv2.warpPerspective(np.ones(face.shape, np.float32), matrix, (WIDTH, HEIGHT))
    shown = cv2.warpPerspective(face.astype(np.float32), matrix, (WIDTH, HEIGHT))
    return np.asarray(scene * (1 - where) + shown * where)


def _photographed(
    scene: Scene,
    module_px: float,
    damage: str,
    use: Use,
    rng: np.random.Generator,
    breadth_px: float = 500,
    turn_deg: float = 0,
) -> Picture:
    """Everything that comes after the label lies there. Every picture is a little soft and noisy."""
    damages = rng.choice(["blur", "motion", "jpeg", "glare", "low light", "smear"], 3, replace=False)
    share = strength_of("several", use, rng) if damage == "several" else 0.0
    how = dict.fromkeys(damages, share) if damage == "several" else {damage: 1.0}
    at = {name: strength_of(name, use, rng) for name in ("blur", "motion", "jpeg", "glare", "low light", "smear")}
    if "smear" in how:
        scene = smeared(scene, breadth_px, at["smear"] * how["smear"], rng)
    if "glare" in how:
        scene = shining(scene, breadth_px, at["glare"] * how["glare"], rng)
    if "motion" in how:
        along = np.radians(turn_deg + rng.uniform(-60, 60))
        scene = moved(scene, at["motion"] * how["motion"] * module_px, float(along))
    soft_px = at["blur"] * how["blur"] * module_px if "blur" in how else float(rng.uniform(0.3, 0.7))
    scene = out_of_focus(scene, soft_px)
    dim = "low light" in how
    picture = sensed(
        scene,
        at["low light"] / how["low light"] if dim else None,
        float(rng.uniform(4, 7) if dim else rng.uniform(1, 3)),
        rng,
    )
    quality = at["jpeg"] / how["jpeg"] if "jpeg" in how else float(rng.uniform(80, 95))
    return compressed(picture, quality)
