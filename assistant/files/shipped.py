"""What travels with the program: procedures, the demo, small models. In a checkout they lie at its top."""

from __future__ import annotations

from pathlib import Path

import assistant


def shipped_folder(name: str) -> Path:
    """The folder `name` of the checkout, or of the installed package."""
    package = Path(assistant.__file__).resolve().parent
    checkout = package.parent
    return checkout / name if (checkout / "pyproject.toml").is_file() else package / "shipped" / name
