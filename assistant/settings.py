"""Settings of the bay: a small TOML file, and nothing else. Every key has a sensible default.

# layup.toml, looked for in the working folder, then in ~/.config/layup/
vosk_model = "/srv/models/vosk-en"   # another Vosk model folder; default: our own bench-en
whisper = true                       # false: run on Vosk alone
microphone = ""                      # number or part of a name; "" the system's default
camera = 0
headset = true                       # false: the assistant is deaf while it speaks
voice = ""                           # a voice of espeak-ng; "" that of the site's language
words_per_minute = 165
end_of_speech_s = 0.6                # quiet that ends an utterance
technician = ""                      # who works in this bay, for the record
keep_sound = true                    # false: new jobs keep words alone, no sound
keep_clips_days = 0                  # after so many days `layup forget --due` removes a job's sound; 0: never
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path

from assistant.core.problems import CallProblem, FileProblem, Place

FILE = "layup.toml"


@dataclass(frozen=True)
class Settings:
    """What may be set, as in the module's example."""

    vosk_model: str = ""
    whisper: bool = True
    microphone: str = ""
    camera: int = 0
    headset: bool = True
    voice: str = ""
    words_per_minute: int = 165
    end_of_speech_s: float = 0.6
    technician: str = ""
    keep_sound: bool = True
    keep_clips_days: int = 0


def find_settings(given: Path | None) -> Settings:
    """The settings of `given`, or of the first file found, or the defaults."""
    if given is not None:
        if not given.is_file():
            raise CallProblem("there is no such settings file", where=str(given), do="check the name")
        return read_settings(given)
    for path in (Path(FILE), Path.home() / ".config" / "layup" / FILE):
        if path.is_file():
            return read_settings(path)
    return Settings()


def read_settings(path: Path) -> Settings:
    """One settings file. FileProblem for a wrong key, type or form, with the line."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as fault:
        raise FileProblem("this is not text in UTF-8", where=Place(str(path)), do="save it as UTF-8") from fault
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        found = re.search(r"at line (\d+), column (\d+)", str(fault))
        place = Place(str(path), int(found[1]), int(found[2])) if found else Place(str(path))
        raise FileProblem(f"this is not TOML: {fault}", where=place, do="mend that line") from fault
    known = {f.name: type(f.default) for f in fields(Settings)}
    for key, value in table.items():
        place = Place(str(path), _line_of(text, key))
        if key not in known:
            raise FileProblem(f"there is no setting {key!r}", where=place, do=f"the settings are {', '.join(known)}")
        wanted = known[key]
        fits = isinstance(value, wanted) and isinstance(value, bool) == (wanted is bool)
        if not fits and not (wanted is float and isinstance(value, int) and not isinstance(value, bool)):
            raise FileProblem(f"{key} cannot be {value!r}", where=place, do=f"give a {_NAMES[wanted]}")
    return Settings(**table)


_NAMES = {str: 'text in "quotes"', bool: "true or false", int: "whole number", float: "number"}


def _line_of(text: str, key: str) -> int:
    for number, line in enumerate(text.splitlines(), 1):
        if re.match(rf"\s*{re.escape(key)}\s*=", line):
            return number
    return 0
