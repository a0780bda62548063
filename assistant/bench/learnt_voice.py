"""A learnt voice in the place of the streaming ear's model, where the technician has one that fits; else why not, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from assistant.core.problems import LayupProblem
from assistant.devices.recognisers.choosing import EarsChosen
from assistant.files.voices import find_voice, list_voices


def with_voice(chosen: EarsChosen, technician: str, root: Path) -> EarsChosen:
    """The ears with the model of `technician`'s voice; the same ears, with a line that says why, where it cannot be used.

    Nothing is said where no voice of that name was learnt: most shops learn none.
    """
    try:
        voice = find_voice(root, technician, chosen.vosk) if technician else None
    except LayupProblem as problem:
        return replace(chosen, why=f"{chosen.why}\nvoice: {problem.what}; heard as any other.")
    if voice is None:
        return chosen
    name = voice.about.name
    if voice.state != "usable":
        return replace(chosen, why=f"{chosen.why}\nvoice: {name} is heard as any other. Learnt once, but {voice.why}.")
    return replace(chosen, vosk=voice.folder, why=f"{chosen.why}\nvoice: as learnt of {name} on {voice.about.learnt}.")


def tell_voices(chosen: EarsChosen, root: Path) -> Iterator[str]:
    """Every voice that was learnt, in words."""
    try:
        yield from (voice.text() for voice in list_voices(root, chosen.vosk))
    except LayupProblem as problem:
        yield f"voices: {problem}"
