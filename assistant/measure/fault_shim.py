"""The C library's file calls, made to fail or to be the last at a chosen one: `fault_shim.c`, compiled here and preloaded.

Where there is no C compiler, or not Linux's way to preload, what needs it is skipped and that is said.
"""

from __future__ import annotations

import ctypes
import shutil
import subprocess
import sys
from enum import IntEnum
from pathlib import Path

SOURCE = Path(__file__).with_name("fault_shim.c")


class How(IntEnum):
    """What happens at the chosen stroke; as in `fault_shim.c`. ONCE: at this alone; ON: at it and all after it."""

    COUNTED = 0
    KILLED_BEFORE = 1
    KILLED_IN_IT = 2
    FAILS_ONCE = 3
    FAILS_ON = 4
    FULL_ONCE = 5
    FULL_ON = 6


def build_shim(folder: Path) -> Path | str:
    """Compile the shim into `folder`; or in plain words why it cannot be."""
    compiler = next(filter(None, map(shutil.which, ("cc", "gcc", "clang"))), None)
    if compiler is None or not sys.platform.startswith("linux"):
        return "no C compiler here (apt-get install gcc libc6-dev)" if compiler is None else "needs Linux"
    shim = folder / "fault_shim.so"
    call = [compiler, "-O2", "-shared", "-fPIC", "-o", str(shim), str(SOURCE), "-ldl"]
    done = subprocess.run(call, capture_output=True, text=True, check=False)
    if done.returncode:
        last = done.stderr.strip().splitlines()[-1:] or ["no word of why"]
        return f"the C compiler failed: {last[0]}"
    return shim


def arm(shim: str, stroke: int, how: How) -> ctypes.CDLL:
    """From now on count strokes, and let that happen at the chosen one (1 the first). The shim is preloaded already."""
    library = ctypes.CDLL(shim)
    library.fault_strokes.restype = ctypes.c_long
    library.fault_arm(ctypes.c_long(stroke), ctypes.c_int(how))
    return library
