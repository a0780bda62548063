"""`layup measure loop`: the delays of the live loop, each part of them, on this machine.

The demo's technician speaks to a live loop in real time: real endpointing, real ears, a real job file, the real voice
process. The loudspeaker is a sound card of ALSA's own (`null`), so that no hardware is needed; what a real card's buffer
adds comes on top.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from assistant.core.problems import LayupProblem
from assistant.files.model_store import find_model
from assistant.settings import Settings

Line = Callable[[str], None]
RECORDINGS = 24
TARGET_BOTH_S, TARGET_ALONE_S, TARGET_START_S, TARGET_APPEND_S, TARGET_MEMORY_MB = 0.7, 0.3, 3.0, 0.015, 700


PART_ENDS_WITH = {
    "streamed": ("vosk", "known"),
    "weighed": ("whisper", "streamed"),
    "heard": ("to loop", "weighed"),
    "recorded": ("append", "record"),
    "sound": ("to sound", "say"),
}
"""The moment that ends a part of the delay -> the part, and the moment that began it."""


@dataclass(frozen=True)
class Figures:
    """Seconds, one list a part of the delay; `start_s` to the first sound; memory of the program without its voice process."""

    parts: dict[str, list[float]]
    start_s: float
    memory_mb: float
    peak_mb: float


def measure_loop(settings: Settings, models: Path, *, as_json: bool, line: Line) -> int:
    """Both ears, then Vosk alone; 0 when every target is met."""
    runs = {"Vosk alone": replace(settings, whisper=False)}
    if find_model("whisper-tiny-en", models).state == "present" and settings.whisper:
        runs = {"both ears": settings, **runs}
    ok = True
    for name, chosen in runs.items():
        if not as_json:
            line(f"{name}: {RECORDINGS} utterances in real time, about {RECORDINGS * 4} s ...")
        figures = run_session(chosen)
        target_s = TARGET_BOTH_S if name == "both ears" else TARGET_ALONE_S
        ok &= meets(figures, target_s)
        for text in [json.dumps({"ears": name, **summary(figures)})] if as_json else table(figures, target_s):
            line(text)
    return 0 if ok else 1


def run_session(settings: Settings) -> Figures:
    """One session in a process of its own, on the null sound card."""
    with tempfile.TemporaryDirectory() as folder:
        card = Path(folder) / "asoundrc"
        card.write_text("pcm.!default { type null }\nctl.!default { type null }\n", encoding="utf-8")
        call = [sys.executable, "-m", "assistant.measure.loop_session", json.dumps(asdict(settings)), str(RECORDINGS)]
        began = time.monotonic()
        environment = {**os.environ, "ALSA_CONFIG_PATH": str(card)}
        done = subprocess.run(call, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        raise LayupProblem(
            "the session failed", do=done.stderr.strip().splitlines()[-1] if done.stderr else "try again"
        )
    moments = [json.loads(row) for row in done.stdout.splitlines()]
    return figures_of(moments, began)


def figures_of(moments: list[dict[str, Any]], began_s: float) -> Figures:
    """The parts of each delay, from the moments in the order they were noted."""
    parts: dict[str, list[float]] = {n: [] for n in ("vosk", "whisper", "to loop", "append", "to sound", "whole")}
    first_sound = next(m["at"] for m in moments if m["what"] == "sound")
    last: dict[str, float] = {}
    for m in moments:
        what, at = str(m["what"]), float(m["at"])
        if what == "known":
            last.clear()
        if what == "say" and ("say" in last or "heard" not in last):
            continue  # only the first answer to an utterance counts
        part, since = PART_ENDS_WITH.get(what, ("", ""))
        if since in last:
            parts[part].append(at - last[since])
            if what == "sound":
                parts["whole"].append(at - last["known"])
                last.clear()
        last[what] = at
    memory = next(m for m in moments if m["what"] == "memory")
    return Figures(parts, first_sound - began_s, memory["own_kb"] / 1024, memory["peak_kb"] / 1024)


def meets(figures: Figures, target_s: float) -> bool:
    """Every target."""
    return (
        statistics.median(figures.parts["whole"]) < target_s
        and figures.start_s < TARGET_START_S
        and statistics.median(figures.parts["append"]) < TARGET_APPEND_S
        and figures.memory_mb < TARGET_MEMORY_MB
    )


NAMES = {
    "vosk": "Vosk finishes",
    "whisper": "Whisper weighs",
    "to loop": "thread to loop",
    "append": "one append with fsync",
    "to sound": "say to first sound",
    "whole": "end of utterance to first sound",
}


def summary(figures: Figures) -> dict[str, object]:
    """Medians and the worst of ten, in milliseconds."""
    rows = {name: [round(1000 * q) for q in _quantiles(values)] for name, values in figures.parts.items() if values}
    return {"median_p90_ms": rows, "start_s": round(figures.start_s, 2), "memory_mb": round(figures.memory_mb)}


def _quantiles(values: list[float]) -> tuple[float, float]:
    ranked = sorted(values)
    return statistics.median(ranked), ranked[min(len(ranked) - 1, int(0.9 * len(ranked)))]


def table(figures: Figures, target_s: float) -> Iterable[str]:
    """For a person."""
    yield f"  {'':<34}{'median':>9}{'p90':>9}   of"
    for name, label in NAMES.items():
        values = figures.parts[name]
        if values:
            middle, ninth = _quantiles(values)
            yield f"  {label:<34}{middle * 1000:>6.0f} ms{ninth * 1000:>6.0f} ms   {len(values)}"
    yield f"  target for the whole: median under {target_s * 1000:.0f} ms"
    yield f"  start to first sound: {figures.start_s:.2f} s (target {TARGET_START_S:.0f} s)"
    yield f"  resident memory: {figures.memory_mb:.0f} MB, at most {figures.peak_mb:.0f} MB (target {TARGET_MEMORY_MB} MB)"
