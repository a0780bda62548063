"""Where a limit comes from, as it is said: "Tern 3 manual page 6-8" -> "Tern 3 manual page 6 dash 8".

A source is written for the eye, in a sheet or a procedure, and is said in the one sentence that answers *limits*. So it
may hold no sign that cannot be said, and it must not end the sentence.
"""

from __future__ import annotations

import re

from assistant.core.speech.english import ENGLISH
from assistant.core.speech.language import Language

SAYABLE = re.compile(r"[A-Za-z\u00c0-\u00d6\u00d8-\u00f6\u00f8-\u017f0-9 ,;:.()/'\"%+&\u00b0\u2019-]*")
LONGEST = 120
"""Signs of a source: at the voice's 165 words a minute about seven seconds."""
_SHORT = {
    r"\bs\.\s?(?=\d)": "{section} ",
    r"\b[Pp]ara\.?(?=\s?\d)": "{paragraph}",
    r"\bpp?\.\s?(?=\d)|\bpage (?=[A-Z0-9])": "{page} ",
    r"\b[Nn]o\.\s?(?=\d)": "{number} ",
    r"\be\.g\.": "{for example}",
    r"\bi\.e\.": "{that is}",
    r"\s?%": " {percent}",
    r"\s?\u00b0\s?(?=[CF]\b)": " {degrees} ",
    r"\s?\+\s?": " {plus} ",
    r"\s?&\s?": " {and} ",
    r"(?<=\d)\.(?=\d)": " {decimal} ",
    r"(?<=\w)-(?=\d)|(?<=\d)-(?=\w)": " {dash} ",
    r"(?<=\d)/(?=\d)": " {over} ",
    r"\band/or\b|/": " {or} ",
}
"""What is short for the eye, in full for the ear: the {words} are the language's."""


def unsayable(source: str) -> str:
    """What is wrong with a source that is to be said; "" where nothing is.

    >>> unsayable("Tern 3 manual page 6-8"), unsayable("manual \\u00a7 4")
    ('', "'\\u00a7' cannot be said")
    """
    strange = sorted({sign for sign in source if not SAYABLE.fullmatch(sign)})
    if strange:
        return f"{', '.join(repr(sign) for sign in strange)} cannot be said"
    if len(source) > LONGEST:
        return f"a source of {len(source)} signs is too long to be said, {LONGEST} are the most"
    return ""


def page_of(manual: str, page: str) -> str:
    """A page of a manual as it is said.

    >>> page_of("Tern 3 manual", "6-4"), page_of("Tern 3 workshop manual, edition 2", "6-4")
    ('Tern 3 manual page 6-4', 'Tern 3 workshop manual, edition 2, page 6-4')
    """
    if not manual:
        return page
    return f"{manual}, page {page}" if "," in manual else f"{manual} page {page}"


def source_aloud(source: str, language: Language = ENGLISH) -> str:
    """A source in words for the ear, without an end of a sentence in it; what stands in brackets is for the eye.

    >>> source_aloud("AC 43.13-1B para 8-14; trade practice.")
    'AC 43 decimal 13 dash 1B paragraph 8 dash 14, and trade practice'
    """
    text = re.sub(r"\([^()]*\)", " ", source)
    for short, full in _SHORT.items():
        text = re.sub(short, re.sub(r"\{(.+)\}", lambda m: language.phrase(f"source {m[1]}"), full), text)
    text = "".join(sign if SAYABLE.fullmatch(sign) and sign not in '"()' else " " for sign in text)
    clauses = [re.sub(r"[.:?!]+(?=[\s,]|$)", ",", clause) for clause in text.split(";")]
    said = [re.sub(r"[\s,]*,[\s,]*", ", ", clause).strip(" ,") for clause in clauses]
    return re.sub(r"\s+", " ", f", {language.phrase('source and')} ".join(filter(None, said)))
