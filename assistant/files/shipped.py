"""What travels with the program: procedures, the demo, small models. In a checkout they lie at its top."""

from __future__ import annotations

from pathlib import Path

import assistant
from assistant.core.problems import CallProblem

PROCEDURE, SHEET, SITE = ".yaml", ".sheet.yaml", ".site.yaml"
"""How the names of procedures, machine sheets and site sheets end."""
_CALLED = {PROCEDURE: "procedure", SHEET: "machine sheet", SITE: "site sheet"}


def installed_folder() -> Path | None:
    """Where an installed program keeps them; None in a checkout."""
    folder = Path(assistant.__file__).resolve().parent / "shipped"
    return folder if folder.is_dir() else None


def shipped_folder(name: str) -> Path:
    """The folder `name` (`procedures`, `demo`, `models`) of the checkout, or of the installed package."""
    return (installed_folder() or Path(assistant.__file__).resolve().parent.parent) / name


def shipped_names(ending: str) -> tuple[str, ...]:
    """The bare names of the shipped procedures, sheets or sites, in order."""
    names = [path.name for path in shipped_folder("procedures").glob(f"*{ending}")]
    if ending == PROCEDURE:
        names = [name for name in names if not name.endswith((SHEET, SITE))]
    return tuple(sorted(name.removesuffix(ending) for name in names))


def find_file(given: Path, ending: str) -> Path:
    """The file as given, or the shipped one where a bare name is given that is no file here: `pwc-off-season`.

    `ending` says what is looked for. CallProblem where nothing of that name travels with the program.
    """
    if given.suffix or given.parent != Path() or given.exists():
        return given
    names = shipped_names(ending)
    if given.name not in names:
        raise CallProblem(
            f"there is no {_CALLED[ending]} {given.name!r}, neither here nor with the program",
            where=str(given),
            do=f"give a file's name with its ending, or one of those that come with the program: {', '.join(names)}",
        )
    return shipped_folder("procedures") / f"{given.name}{ending}"


def site_beside(procedure: Path) -> Path | None:
    """The site sheet that is taken where none is named: the only one in the procedure's folder; None where not just one is."""
    found = sorted(procedure.parent.glob(f"*{SITE}"))
    return found[0] if len(found) == 1 else None
