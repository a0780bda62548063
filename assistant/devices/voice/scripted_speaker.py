"""The voice's double: says nothing, keeps what it was given, and is done at once."""

from __future__ import annotations

from collections.abc import Callable


class ScriptedSpeaker:
    """`Speaker` for tests and for `--voice silent`. `said` holds (number, text) in order."""

    def __init__(self) -> None:
        self.said: list[tuple[int, str]] = []
        self.hushes = 0

    def say(self, number: int, text: str, done: Callable[[int], None]) -> None:
        """Keep it; `done` comes before this returns."""
        self.said.append((number, text))
        done(number)

    def hush(self) -> None:
        """Nothing ever waits."""
        self.hushes += 1

    def close(self) -> None:
        """Nothing is held."""
