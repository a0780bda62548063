"""Sounds and pictures between being heard or seen and being kept: the engine names them, the loop commits them."""

from __future__ import annotations

from collections import OrderedDict

from assistant.devices.protocols import Samples

MOST_HELD = 64
"""Older ones are let go: an entry refers to what was just heard, or to a question's first answer."""


class Shelf:
    """Holds the last sounds and pictures by name. For one process; names are never used twice."""

    def __init__(self) -> None:
        self._count = 0
        self._sounds: OrderedDict[str, Samples] = OrderedDict()
        self._pictures: OrderedDict[str, bytes] = OrderedDict()

    def put_sound(self, samples: Samples) -> str:
        """Hold a sound; its name."""
        name = self._next("sound")
        self._sounds[name] = samples
        if len(self._sounds) > MOST_HELD:
            self._sounds.popitem(last=False)
        return name

    def put_picture(self, png: bytes) -> str:
        """Hold a picture; its name."""
        name = self._next("picture")
        self._pictures[name] = png
        if len(self._pictures) > MOST_HELD:
            self._pictures.popitem(last=False)
        return name

    def sound(self, name: str) -> Samples | None:
        """The sound of that name; None for "" or one let go."""
        return self._sounds.get(name)

    def picture(self, name: str) -> bytes | None:
        """The picture of that name; None for "" or one let go."""
        return self._pictures.get(name)

    def _next(self, kind: str) -> str:
        self._count += 1
        return f"{kind} {self._count}"
