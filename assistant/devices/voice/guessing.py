"""Which sound the voice makes of a word, asked of espeak-ng itself, without making any sound.

pyttsx3 cannot tell; the program `espeak-ng`, which comes with the library that it uses, prints the phones that it would say.
"""

from __future__ import annotations

import subprocess
from functools import cache

ANSWER_WITHIN_S = 5.0


@cache
def guessed_sound(word: str, voice: str = "en-us", program: str = "espeak-ng") -> str:
    """The word's phones in the letters of the International Phonetic Association; "" where it cannot be asked."""
    call = [program, "-q", "--ipa", "-v", voice, "--", word]
    try:
        found = subprocess.run(call, capture_output=True, text=True, timeout=ANSWER_WITHIN_S, check=False)
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return found.stdout.strip() if found.returncode == 0 else ""
