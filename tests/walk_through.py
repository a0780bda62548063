"""A page that is followed as a newcomer would: its files are written, its commands run, what they print is compared."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

BLOCK = re.compile(r"^```(?P<kind>yaml file=(?P<file>\S+)|console)\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)


def follow(page: str, folder: Path) -> list[tuple[str, str, str]]:
    """Do what the page says, in that folder: (command, what the page shows, what came) of each command, in order."""
    found = []
    for block in BLOCK.finditer(page):
        if block["file"]:
            (folder / block["file"]).write_text(block["text"], encoding="utf-8")
            continue
        for part in re.split(r"^\$ ", block["text"], flags=re.MULTILINE)[1:]:
            command, _, shown = part.partition("\n")
            found.append((command, shown.strip(), _run(command, folder)))
    return found


def _run(command: str, folder: Path) -> str:
    """What a shell prints, both streams, where `layup` is the one of this Python."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        command,
        shell=True,
        cwd=folder,
        env={**os.environ, "PATH": path},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=300,
        check=False,
    )
    return done.stdout.strip()
