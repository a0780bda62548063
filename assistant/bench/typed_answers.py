"""A person at a terminal (or a file of lines) as the technician of a rehearsal. "?" tells what may be said."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from assistant.bench.going_well import GoingWell
from assistant.core.expected import expectation_of
from assistant.core.speech.commands import BY_NAME, spoken_forms
from assistant.core.state import State
from assistant.core.turns.opening import next_reading
from assistant.core.units import plain

ASKS = "?"


class Typed:
    """Lines of `lines` are what he says; empty ones are passed over. `teach` takes each line of what may be said."""

    patient = True

    def __init__(self, lines: Iterator[str], going_well: GoingWell, teach: Callable[[str], None]) -> None:
        self._lines = lines
        self._going_well = going_well
        self._teach = teach

    def words(self, state: State) -> str | None:
        """The next line; None at the end of them."""
        for line in self._lines:
            if line.strip() == ASKS:
                for text in may_be_said(state, self._going_well):
                    self._teach(text)
            elif line.strip():
                return line.strip()
        return None


def may_be_said(state: State, going_well: GoingWell) -> Iterator[str]:
    """What is understood now: what is waited for, the readings, and each command with what it does."""
    yield f"now: {going_well.words(state)}"
    expectation = expectation_of(state)
    if expectation.free:
        yield "anything, in free words"
    wanted = next_reading(state)
    for asked in expectation.asked:
        reading = asked.reading
        first = "" if wanted and reading.name == wanted[0].name else f"{reading.spoken_name}, then "
        if reading.kind == "choice":
            words = ", ".join(word for choice in reading.choices for word in choice.words)
            yield f"{first}one of: {words}"
        elif reading.kind in ("measured", "count"):
            low, high = reading.plausible
            unit = state.site.language.unit(reading.unit)
            yield f"{first}a number from {plain(low)} to {plain(high)} {unit}".rstrip()
        else:
            yield f"{first}a {'date' if reading.kind == 'date' else 'code, letter by letter'}"
    for phrase, name in spoken_forms(expectation.commands, expectation.command_words).items():
        yield f"{phrase}: {BY_NAME[name].does}"
