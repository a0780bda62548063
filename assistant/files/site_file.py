"""The shop's own sheet -> `Site`: where it lies, how cold it may get, which gallon it means, how figures are read back, its own
command words, its language.

shop: ...
gallon: us_gal
read_back: digits          # or icao, faa, acp125, maritime: how whole hundreds and thousands are said
values: {lowest_expected: {is: -20 degF, source: ...}}
words: {say again: [repeat that]}
language: es               # or the name of a language file of the shop's own, beside this sheet
"""

from __future__ import annotations

from pathlib import Path
from textwrap import indent
from typing import Literal

from assistant.core.machine import NamedValue, Site
from assistant.core.problems import CallProblem, FileProblems
from assistant.core.speech.commands import BY_NAME
from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language
from assistant.core.speech.saying import REGIMES, ReadBack
from assistant.files.language_file import find_language, language_of
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Complaints, Table, Text, parse_yaml, read_text

SITE_KEYS = ("shop", "gallon", "read_back", "values", "words", "language")


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
        values=_values(fields.under("values")),
        gallon=_gallon(fields),
        read_back=_read_back(fields),
        command_words={command: tuple(text.value.lower() for text in words.texts(command)) for command in words.names},
        language=_language(fields),
        file=complaints.file,
    )


def standing_alone(text: str, folder: Path) -> str:
    """A site's text with the shop's own language file, which lies in `folder`, written into it: so a job keeps it.

    Its lines stay where they are. Any other text, and one with a language file that is not there, is left as it is.
    """
    table = parse_yaml(text, Complaints(""))
    named = table.entries.get("language") if table else None
    if table is None or not isinstance(named, Text) or not (folder / named.value).is_file():
        return text
    lines = text.splitlines()
    for at in range(table.keys["language"].line - 1, named.place.line):
        lines[at] = f"# {lines[at]}"
    return "\n".join((*lines, "language:", indent(read_text(folder / named.value), "  "), ""))


def _language(fields: Fields) -> Language:
    """By its code, by the name of its file, or written out. What is wrong with its file is complained of at its own lines."""
    given = fields.table.entries.get("language")
    if isinstance(given, Table):
        return language_of(given, fields.complaints)
    try:
        return find_language(fields.text("language", ENGLISH.code), Path(fields.complaints.file).parent)
    except CallProblem as problem:
        fields.complain("language", problem.what, problem.do)
    except FileProblems as problems:
        fields.complaints.found += [(fields.place("language"), problem) for problem in problems.problems]
    return ENGLISH


def _values(fields: Fields) -> dict[str, NamedValue]:
    """What the shop knows of itself; each says where it comes from."""
    found = {}
    for name in fields.names:
        inner = fields.under(name, ("is", "source"))
        found[name] = NamedValue(name, inner.amount("is"), inner.source("source"), line=inner.key_place("is").line)
    return found


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
