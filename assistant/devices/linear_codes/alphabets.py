"""The bars of EAN/UPC and Code 128, a module a figure, 1 for a bar: tables of the standards and nothing else.

Sources: GS1 General Specifications 5.2.1.2 (number sets A, B and C, guard patterns, and which sets tell the first digit of
an EAN-13); ISO/IEC 15417 table 1 (Code 128). From memory; zint draws and both decoders read the same (tests).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Bits = npt.NDArray[np.float32]
"""Modules in order, 1.0 for a bar."""


def bits(pattern: str) -> Bits:
    """
    >>> bits("101").tolist()
    [1.0, 0.0, 1.0]
    """
    return np.array([float(c) for c in pattern], np.float32)


_SET_A = ("0001101", "0011001", "0010011", "0111101", "0100011", "0110001", "0101111", "0111011", "0110111", "0001011")
_SET_C = tuple("".join("10"[int(c)] for c in pattern) for pattern in _SET_A)
_SET_B = tuple(pattern[::-1] for pattern in _SET_C)
EAN_SETS = np.array([[bits(p) for p in numbers] for numbers in (_SET_A, _SET_B, _SET_C)])
"""Number sets A, B, C by digit by module."""
EAN_END, EAN_MIDDLE = bits("101"), bits("01010")
EAN_13_FIRST = (
    "AAAAAA", "AABABB", "AABBAB", "AABBBA", "ABAABB", "ABBAAB", "ABBBAA", "ABABAB", "ABABBA", "ABBABA",
)  # fmt: skip
"""By first digit: the number sets of the six digits left of the middle."""

_WIDTHS = (
    "212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212 112232 122132 122231 113222 "
    "123122 123221 223211 221132 221231 213212 223112 312131 311222 321122 321221 312212 322112 322211 212123 212321 "
    "232121 111323 131123 131321 112313 132113 132311 211313 231113 231311 112133 112331 132131 113123 113321 133121 "
    "313121 211331 231131 213113 213311 213131 311123 311321 331121 312113 312311 332111 314111 221411 431111 111224 "
    "111422 121124 121421 141122 141221 112214 112412 122114 122411 142112 142211 241211 221114 413111 241112 134111 "
    "111242 121142 121241 114212 124112 124211 411212 421112 421211 212141 214121 412121 111143 111341 131141 114113 "
    "114311 411113 411311 113141 114131 311141 411131 211412 211214 211232"
)


def _widths(text: str) -> str:
    return "".join("10"[place % 2] * int(width) for place, width in enumerate(text))


CODE_128 = np.array([bits(_widths(text)) for text in _WIDTHS.split()])
"""Values 0 to 105 by module; 103, 104 and 105 start in code set A, B and C."""
CODE_128_STOP = bits(_widths("2331112"))
