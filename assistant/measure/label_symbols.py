"""Bar codes with made-up contents, drawn by zint (GPL-licensed, run as a program): what `layup measure labels` photographs.

Product numbers begin with 2, GS1's prefixes 200 to 299 for restricted circulation; UPC-A with number system 4, kept for
use inside a shop: no article of commerce has such a number (GS1 General Specifications 1.4.2 and 2.1.11).
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant.core.labels.check_digit import mod10_digit, mod43_character
from assistant.core.problems import DeviceTrouble
from assistant.devices.camera import quiet_opencv
from assistant.devices.protocols import Picture

LINEAR_ROWS = 40
"""Modules that linear bars are high: about the half of an EAN-13's breadth, as packets have it."""
LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"


@dataclass(frozen=True, eq=False)
class Symbol:
    """One bar code. modules: height by width, one pixel a module, 0 black and 255 white, no quiet zone.

    text: what decoders should read, FNC1 left out, UPC-A with its leading zero. checked: its decoder can tell a misreading.
    """

    symbology: str
    text: str
    modules: Picture
    linear: bool
    checked: bool


@dataclass(frozen=True)
class _Kind:
    """zint: its name and options; make: (what zint is told, what decoders should read)."""

    zint: tuple[str, ...]
    make: Callable[[np.random.Generator], tuple[str, str]]
    linear: bool = True
    checked: bool = True


def _figures(rng: np.random.Generator, count: int) -> str:
    return "".join(str(d) for d in rng.integers(0, 10, count))


def _part_number(rng: np.random.Generator) -> str:
    """As makers write them: letters and figures in groups."""
    letters = "".join(rng.choice(list(LETTERS), rng.integers(1, 3)))
    return f"{letters}{_figures(rng, int(rng.integers(2, 4)))}-{_figures(rng, int(rng.integers(3, 6)))}"


def _ean(rng: np.random.Generator, figures: int, first: str) -> tuple[str, str]:
    data = first + _figures(rng, figures - 1 - len(first))
    return data, (data + mod10_digit(data)).zfill(13 if figures > 8 else 8)


def _gs1(rng: np.random.Generator) -> tuple[str, str]:
    """Product number and lot."""
    data = "02" + _figures(rng, 11)
    gtin, lot = data + mod10_digit(data), f"{rng.choice(list(LETTERS))}{_figures(rng, 4)}"
    return f"[01]{gtin}[10]{lot}", f"01{gtin}10{lot}"


def _itf(rng: np.random.Generator) -> tuple[str, str]:
    data = "12" + _figures(rng, 11)
    return data, data + mod10_digit(data)


def _plain(rng: np.random.Generator) -> tuple[str, str]:
    number = _part_number(rng)
    return number, number


def _mod43(rng: np.random.Generator) -> tuple[str, str]:
    number = _part_number(rng)
    return number, f"{number}{mod43_character(number)}"


KINDS: Mapping[str, _Kind] = {
    "EAN-13": _Kind(("EANX",), lambda rng: _ean(rng, 13, "2")),
    "EAN-8": _Kind(("EANX",), lambda rng: _ean(rng, 8, "2")),
    "UPC-A": _Kind(("UPCA",), lambda rng: _ean(rng, 12, "4")),
    "CODE-128": _Kind(("CODE128",), _plain),
    "GS1-128": _Kind(("GS1_128",), _gs1),
    "CODE-39": _Kind(("CODE39",), _plain, checked=False),
    "CODE-39 mod 43": _Kind(("CODE39", "--vers=1"), _mod43, checked=False),
    "ITF-14": _Kind(("ITF14",), _itf, checked=False),
    "DATA-MATRIX": _Kind(("DATAMATRIX",), _plain, linear=False),
    "GS1-DATA-MATRIX": _Kind(("DATAMATRIX", "--gs1"), _gs1, linear=False),
    "QR": _Kind(("QRCODE",), _plain, linear=False),
}
"""The symbologies that are measured."""


def draw_symbol(symbology: str, rng: np.random.Generator) -> Symbol:
    """One of `KINDS` with contents of its own. DeviceTrouble where zint is missing or refuses."""
    kind = KINDS[symbology]
    told, text = kind.make(rng)
    modules = _by_zint(kind.zint, told)
    if kind.linear:
        modules = np.repeat(modules[modules.shape[0] // 3][None, :], LINEAR_ROWS, axis=0)
    return Symbol(symbology, text, modules, kind.linear, kind.checked)


def _by_zint(kind: tuple[str, ...], data: str) -> Picture:
    if shutil.which("zint") is None:
        raise DeviceTrouble("zint, which draws the bar codes, is missing", do="install it: apt-get install zint")
    with tempfile.TemporaryDirectory() as folder:
        picture = Path(folder) / "symbol.png"
        command = ["zint", "-b", *kind, "--notext", "--scale=0.5", "-d", data, "-o", str(picture)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        grey = quiet_opencv().imread(str(picture), 0) if picture.is_file() else None
    if grey is None:
        raise DeviceTrouble(f"zint drew nothing: {done.stderr.strip()}", do="look at its release: 2.11 is known to do")
    dark = grey < 128
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    inside = dark[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    return np.where(inside, 0, 255).astype(np.uint8)
