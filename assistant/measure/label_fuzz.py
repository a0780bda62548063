"""`layup measure labels --fuzz SECONDS`: bent texts for every parser of labels, and how many of them raised: none should.

By atheris where it is installed (coverage leads it to new texts; `pip install 'layup[fuzz]'`), else by hypothesis.
"""

from __future__ import annotations

import importlib.util
import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.core.problems import CallProblem, LayupProblem
from assistant.measure.label_parsers import PARSERS, SEEDS, Fault

SHOWN = 5
LONGEST_BYTES = 120
"""Of a text by atheris: twice what the longest of `SEEDS` has."""
STUCK_S = 20
"""So long for one text, and a parser hangs."""


@dataclass(frozen=True)
class Campaign:
    """Texts tried, each with all parsers, and every exception."""

    by: str
    inputs: int
    faults: tuple[Fault, ...]

    def as_json(self) -> dict[str, object]:
        """The object that `--json` prints."""
        return {"by": self.by, "parsers": len(PARSERS), "inputs": self.inputs, "exceptions": len(self.faults)}


def measure_parsers(seconds: int, *, as_json: bool, line: Callable[[str], None]) -> int:
    """The command; 0 where nothing raised. CallProblem where neither fuzzer is installed."""
    return tell(fuzzed(seconds), as_json=as_json, line=line)


def fuzzed(seconds: int) -> Campaign:
    """For about so long, by the better fuzzer that is installed."""
    if importlib.util.find_spec("atheris") is not None:
        return by_atheris(seconds)
    if importlib.util.find_spec("hypothesis") is not None:
        from assistant.measure.label_bending import bend

        return Campaign("hypothesis", *bend(seconds))
    do = "install one: pip install 'layup[fuzz]' (atheris), or pip install hypothesis"
    raise CallProblem("neither atheris nor hypothesis, which bend the texts, is installed", where="--fuzz", do=do)


def by_atheris(seconds: int) -> Campaign:
    """In a process of its own, since atheris never returns. LayupProblem where it ended before its time."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        corpus, faults = folder / "corpus", folder / "faults"
        corpus.mkdir()
        faults.touch()
        for number, seed in enumerate(SEEDS):
            (corpus / str(number)).write_bytes(seed.encode())
        call = [sys.executable, "-m", "assistant.measure.label_fuzz_atheris", str(faults), str(corpus)]
        flags = [f"-max_total_time={seconds}", f"-max_len={LONGEST_BYTES}", f"-timeout={STUCK_S}", "-verbosity=1"]
        done = subprocess.run([*call, *flags], cwd=folder, capture_output=True, text=True, check=False)
        ran = re.search(r"^Done (\d+) runs", done.stderr, re.MULTILINE)
        if done.returncode or ran is None:
            raise LayupProblem(f"atheris ended before its time:\n{done.stderr[-600:]}", do="mend what it names")
        found = tuple(Fault(*json.loads(row)) for row in faults.read_text(encoding="utf-8").splitlines())
    return Campaign("atheris", int(ran[1]), found)


def tell(campaign: Campaign, *, as_json: bool, line: Callable[[str], None]) -> int:
    """One line, or one JSON object, and the first faults; the exit status."""
    if as_json:
        line(json.dumps(campaign.as_json()))
    else:
        raised = f"{len(campaign.faults)} exceptions"
        line(f"{campaign.by}: {campaign.inputs} inputs, each through {len(PARSERS)} parsers: {raised}")
        for text in _first(campaign.faults):
            line(text)
    return 1 if campaign.faults else 0


def _first(faults: Sequence[Fault]) -> list[str]:
    """The first of each parser and exception."""
    firsts = {(fault.parser, fault.exception): fault for fault in reversed(faults)}
    return [f"  {f.parser}: {f.exception}, by {f.text!r} on {f.day}" for f in list(firsts.values())[-SHOWN:]]
