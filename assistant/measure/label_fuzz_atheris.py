"""The process that `label_fuzz` starts: atheris leads texts through all parsers of labels, and what they raise goes to a file.

Its arguments: that file, then atheris' own. All but the last bytes of an input are the text, the last ones the day.
"""

from __future__ import annotations

import dataclasses
import json
import sys
from datetime import date, timedelta
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["assistant.core.labels", "assistant.core.trade"]):
    from assistant.measure.label_parsers import faults_by


def main(faults: Path, arguments: list[str]) -> None:
    """Never returns: atheris ends the process."""
    file = faults.open("a", encoding="utf-8")

    def one_input(data: bytes) -> None:
        provider = atheris.FuzzedDataProvider(data)
        today = date(1990, 1, 1) + timedelta(days=provider.ConsumeIntInRange(0, 40_000))
        for fault in faults_by(provider.ConsumeUnicodeNoSurrogates(200), today):
            file.write(json.dumps(dataclasses.astuple(fault)) + "\n")
            file.flush()

    atheris.Setup([sys.argv[0], *arguments], one_input)
    atheris.Fuzz()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
