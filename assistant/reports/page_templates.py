"""The pages' templates: everything put into one is escaped, and shown without signs that turn, hide or break a line.

Their style is the same for every job and stands in the page itself; nothing is fetched, nothing runs.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING

from assistant.core.entries import Rival
from assistant.reports.figures.drawing import shown_signs
from assistant.reports.looks import named, told
from assistant.reports.values import share_of, spaced, visible

if TYPE_CHECKING:
    from jinja2 import Environment, Template

FOOT_SIGNS = 60
"""A foot of a page has room for so many signs of a name; the whole of it stands on the first page."""
SHARE_SHOWN = Decimal("0.01")
"""What an ear thought less likely than that is in the job file and the JSON, not on the page."""


def template(name: str) -> Template:
    """A template of `reports/templates`."""
    return _environment().get_template(name)


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("assistant.reports"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_printable,
    )
    environment.filters.update(clock=clock, day=day, named=named, told=told, spaced=spaced, visible=visible)
    environment.filters.update(short=short, in_groups=in_groups, percent=percent, likely=likely)
    return environment


def _printable(value: object) -> object:
    """What an expression puts into the page; markup of our own stays as it is."""
    return shown_signs(value) if type(value) is str else value


def clock(time: str) -> str:
    """A kept time as the page shows it, to the second: 2026-10-14 09:12:03 UTC. "" stays ""."""
    return f"{datetime.fromisoformat(time):%Y-%m-%d %H:%M:%S} UTC" if time else ""


def day(time: str) -> str:
    """The day of a kept time (UTC): 14 October 2026. "" stays "".

    >>> day("2026-10-04T09:12:03.250Z")
    '4 October 2026'
    """
    return f"{datetime.fromisoformat(time):%d %B %Y}".removeprefix("0") if time else ""


def short(text: str, most: int = FOOT_SIGNS) -> str:
    """The text, or its beginning with three dots where it is longer.

    >>> short("a long name", 7)
    'a long\u2026'
    """
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}\N{HORIZONTAL ELLIPSIS}"


def in_groups(sha256: str) -> str:
    """A hash in groups of eight, to be compared by eye.

    >>> in_groups("0123456789abcdef")
    '01234567 89abcdef'
    """
    return " ".join(sha256[at : at + 8] for at in range(0, len(sha256), 8))


def likely(others: Iterable[Rival]) -> tuple[Rival, ...]:
    """Those that are worth their line on paper."""
    return tuple(other for other in others if share_of(other) >= SHARE_SHOWN)


def percent(other: Rival) -> str:
    """The share of another thing that may have been said.

    >>> percent(Rival("fifty", "50 psi", "0.222"))
    '22\xa0%'
    """
    return f"{100 * share_of(other):.0f}\N{NO-BREAK SPACE}%"
