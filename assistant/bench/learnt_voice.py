"""A learnt voice in the place of the streaming ear's model, where the technician has one that fits; else why not, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from assistant.bench.hearing import Ears
from assistant.core.problems import LayupProblem
from assistant.devices.recognisers.choosing import BENCH_MODEL, EarsChosen
from assistant.files.voices import find_voice, list_voices, names_of

FITTED_FOR_ANOTHER = (
    f"How sure it must be was fitted for {BENCH_MODEL} and not for this voice: it may claim too much, or too little."
)
"""A voice is another model; nobody has kept sounds of its owner to fit the numbers by."""


def with_voice(chosen: EarsChosen, technician: str, root: Path) -> EarsChosen:
    """The ears with the model of `technician`'s voice; the same ears, with a line that says why, where it cannot be used.

    Nothing is said where nobody is named or no voice was learnt at all: most shops learn none.
    """
    if not technician:
        return chosen
    try:
        voice = find_voice(root, technician, chosen.vosk)
        others = names_of(root)
    except LayupProblem as problem:
        return _unchanged(chosen, f"voice: {problem.what}; heard as any other.")
    if voice is None:
        said = f"voice: none was learnt of {technician}, who is heard as any other; there are: {', '.join(others)}."
        return _unchanged(chosen, said) if others else chosen
    if voice.about is None or voice.state != "usable":
        return _unchanged(chosen, f"voice: {voice.name} is heard as any other. Learnt once, but {voice.why}.")
    said = f"voice: as learnt of {voice.name} on {voice.about.learnt}. {FITTED_FOR_ANOTHER}"
    return replace(_unchanged(chosen, said), vosk=voice.folder, voice=voice.label)


def _unchanged(chosen: EarsChosen, said: str) -> EarsChosen:
    return replace(chosen, why=f"{chosen.why}\n{said}")


def names_for_record(ears: Ears, chosen: EarsChosen) -> str:
    """What a job notes of who heard: the ears' names, and the learnt voice whose model the streaming ear had."""
    return ", ".join(filter(None, (ears.names, chosen.voice)))


def tell_voices(chosen: EarsChosen, root: Path) -> Iterator[str]:
    """Every voice that was learnt, in words."""
    try:
        yield from (voice.text() for voice in list_voices(root, chosen.vosk))
    except LayupProblem as problem:
        yield f"voices: {problem}"
