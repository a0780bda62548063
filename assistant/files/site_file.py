"""The shop's own sheet -> `Site`: where it lies, how cold it may get, which gallon it means, how figures are read back, its own
command words.

shop: ...
gallon: us_gal
read_back: digits          # or icao, faa, acp125, maritime: how whole hundreds and thousands are said
values: {lowest_expected: {is: -20 degF, source: ...}}
words: {say again: [repeat that]}
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from assistant.core.procedure import Site
from assistant.core.speech.commands import BY_NAME
from assistant.core.speech.saying import REGIMES, ReadBack
from assistant.files.sheet_file import named_values
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Complaints, Table, parse_yaml, read_text

SITE_KEYS = ("shop", "gallon", "read_back", "values", "words")


def load_site(path: Path) -> Site:
    """The site in a file. Raises CallProblem (no such file) or FileProblems (all that is wrong with it)."""
    return read_site(read_text(path), str(path))


def read_site(text: str, file: str) -> Site:
    """The site that the text holds; `file` is its name in what is complained of. Raises FileProblems."""
    complaints = Complaints(file)
    table = parse_yaml(text, complaints)
    return complaints.checked(_site(table, complaints) if table else None)


def _site(table: Table, complaints: Complaints) -> Site:
    fields = Fields(table, "a site", SITE_KEYS, complaints)
    words = fields.under("words", tuple(BY_NAME))
    return Site(
        shop=fields.text("shop"),
        values=named_values(fields, "source"),
        gallon=_gallon(fields),
        read_back=_read_back(fields),
        command_words={command: tuple(text.value.lower() for text in words.texts(command)) for command in words.names},
        file=complaints.file,
    )


def _gallon(fields: Fields) -> Literal["us_gal", "imp_gal"]:
    said = fields.text("gallon")
    if said == "imp_gal":
        return "imp_gal"
    if said and said != "us_gal":
        fields.complain("gallon", f"'{said}' is not a gallon of the list", "write us_gal or imp_gal")
    return "us_gal"


def _read_back(fields: Fields) -> ReadBack:
    said = fields.text("read_back", "digits")
    for regime in REGIMES:
        if said == regime:
            return regime
    if said:
        fields.complain("read_back", f"'{said}' is no way to read figures back", f"write one of {', '.join(REGIMES)}")
    return "digits"
