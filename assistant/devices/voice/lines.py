"""What the program and its voice process say to each other: one JSON object a line, each a frozen dataclass here.

To the voice process: `Speak`, `Render`, `Quieten`. From it: `Ready` once, then `Started` and `Ended` for each text
spoken, `Rendered` for each text rendered, or `Failed` as its last line.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Speak:
    """Say this on the sound card. The next Speak may be sent after this one's Ended only."""

    number: int
    text: str


@dataclass(frozen=True)
class Render:
    """Make the samples of this and send them back."""

    number: int
    text: str


@dataclass(frozen=True)
class Quieten:
    """Stop saying `number` now; too late is no fault."""

    number: int


@dataclass(frozen=True)
class Ready:
    """The voice is loaded and the sound card open: `voice` is espeak-ng's name, `output` the card's ("" for none)."""

    voice: str
    output: str


@dataclass(frozen=True)
class Started:
    """The first samples of `number` are with the sound card; it will take `duration_s`."""

    number: int
    duration_s: float


@dataclass(frozen=True)
class Ended:
    """`number` has been said to its end, or was quietened."""

    number: int


@dataclass(frozen=True)
class Rendered:
    """`samples` is base64 of signed 16 bit little-endian mono at `rate_hz`."""

    number: int
    rate_hz: int
    samples: str


@dataclass(frozen=True)
class Failed:
    """The voice process cannot go on and ends; the three parts of a DeviceTrouble."""

    what: str
    where: str
    do: str


Line = Speak | Render | Quieten | Ready | Started | Ended | Rendered | Failed
_KINDS: dict[str, type[Line]] = {
    kind.__name__: kind for kind in (Speak, Render, Quieten, Ready, Started, Ended, Rendered, Failed)
}


def written(line: Line) -> str:
    """The line as text, with its newline.

    >>> written(Ended(7))
    '{"Ended": {"number": 7}}\\n'
    """
    return json.dumps({type(line).__name__: asdict(line)}) + "\n"


def read(text: str) -> Line:
    """The line that `written` wrote; ValueError if it is none."""
    try:
        ((kind, parts),) = json.loads(text).items()
        return _KINDS[kind](**parts)
    except (AttributeError, KeyError, TypeError, ValueError) as error:
        raise ValueError(f"not a line of the voice process: {text[:80]!r}") from error
