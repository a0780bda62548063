"""PortAudio through `sounddevice`, loaded when it is first used."""

from __future__ import annotations

from typing import Any

from assistant.core.problems import DeviceTrouble


def portaudio() -> Any:
    """The `sounddevice` module; DeviceTrouble where the C library is missing."""
    try:
        import sounddevice
    except OSError as error:  # the Python part is there, the C library is not
        raise DeviceTrouble(
            "PortAudio is not installed", where="sound devices", do="install it: apt-get install libportaudio2"
        ) from error
    return sounddevice


def as_device(setting: str) -> int | str | None:
    """A sound device as PortAudio takes it: its number, a part of its name, or None for the system's default ("")."""
    return int(setting) if setting.isdigit() else setting or None
