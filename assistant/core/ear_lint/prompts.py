"""A prompt that is too long to hold in the head: too many words, or too many things to do.

Where the numbers come from
    20 words: ASD-STE100 (Simplified Technical English, the aerospace standard for maintenance texts) allows 20 words in a
    sentence of a procedure and 25 in one that describes, and one instruction a sentence. By ear nothing can be read again, so
    here 20 are for the whole prompt, 20 for a sentence of a caution and 25 for all of it.
    Two actions: working memory holds about four chunks (N. Cowan, Behavioral and Brain Sciences 24, 2001), three where
    nothing can be rehearsed (Z. Chen and N. Cowan, 2009), and the older 7 +- 2 (G. Miller, 1956) is of lone digits. Two
    actions and what is to be answered are three. That a spoken step has two at most is common practice, no source.

What an action is
    A clause that gives an order. A clause begins with the text, behind a sentence end (. ! ? : ;), or behind a connecting
    word: "and", "then", "or", "but" or a comma. At a sentence's beginning every clause counts, save where its first word is of
    `NO_ORDER` (an article, a pronoun, "nobody", "never" ...). Behind a connecting word it counts where its first word is of
    `ORDERS`, a list of the trade's verbs, or stands before a determiner ("scrape the ...", "brush it ..."): so "hull, hoses
    and wiring" is one thing to look at. A word that is a thing's name as well (`NOUNS_TOO`) counts behind "and" only before a
    determiner, and never before "on", "off" ...: "filter cover and drain plug", "cover on". Behind "then" anything counts. A
    clause that begins with "while", "until", "when", "if", "so" ... says when or why, and is no action up to the next comma.
    *Say* is none: the answer is asked for again by the reading itself; nor is what follows it in the same sentence.
    It is a list, not a parser: a verb that is not on it, with no determiner behind it, is missed in the middle of a sentence.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from assistant.core.ear_lint.findings import Finding
from assistant.core.ear_lint.texts import Text, sentences

MOST_WORDS = 20
MOST_WORDS_OF_CAUTION = 25
MOST_ACTIONS = 2
ANSWER = ("say", "tell")
NO_ORDER = frozenset((
    "a", "about", "all", "an", "another", "any", "at", "both", "by", "don't", "each", "every", "for", "he", "here", "i", "in",
    "it", "its", "never", "no", "nobody", "none", "not", "nothing", "now", "of", "on", "only", "she", "some", "that", "the",
    "their", "there", "these", "they", "this", "those", "to", "under", "we", "with", "without", "you", "your",
    "while", "until", "till", "when", "where", "if", "unless", "so", "because", "before", "after", "as", "once", "or", "but",
))  # fmt: skip
"""First words of a sentence that gives no order."""
WHEN_OR_WHY = frozenset((
    "whatever", "whichever", "while", "until", "till", "when", "if", "unless", "so", "because", "before", "after",
    "as", "once", "where", "that",
))  # fmt: skip
NOUNS_TOO = frozenset((
    "block", "bolt", "charge", "clamp", "clean", "clear", "close", "cover", "cut", "dose", "drain", "draw", "dry",
    "fit", "flush", "fog", "grease", "ground", "hang", "hold", "lift", "mark", "measure", "mix", "note", "oil",
    "open", "point", "press", "roll", "run", "screw", "set", "slide", "spin", "spray", "stand", "start", "stop",
    "store", "swing", "switch", "test", "tie", "top", "torque", "touch", "turn", "warm", "wash", "watch", "water",
    "wind",
))  # fmt: skip
"""Orders that are names of things, or states, as well: "the filter cover and drain plug", "cover on"."""
PARTICLES = frozenset(("on", "off", "in", "out", "up", "down", "open", "shut", "closed", "and", "or"))
DETERMINERS = frozenset((
    "a", "all", "an", "any", "both", "each", "every", "his", "it", "its", "one", "that", "the", "their", "them", "these",
    "this", "those", "your",
))  # fmt: skip
"""What stands behind a verb, and not behind a noun."""
AHEAD_OF_AN_ORDER = frozenset(("and", "then", "next", "now", "first", "again", "also", "finally", "please", "slowly"))
"""Words that may stand before the verb of an order."""
ORDERS = frozenset((
    "add", "adjust", "apply", "bleed", "blip", "block", "blow", "bolt", "bring", "charge", "check", "chock",
    "clamp", "clean", "clear", "close", "connect", "count", "cover", "crank", "cut", "disconnect", "dose", "drain",
    "draw", "dry", "fill", "fit", "flush", "fog", "give", "go", "grease", "ground", "hang", "hold", "inspect",
    "install", "keep", "lay", "leave", "let", "lift", "listen", "look", "loosen", "lower", "lubricate", "make",
    "mark", "measure", "mix", "move", "note", "oil", "open", "point", "pour", "press", "pull", "push", "put",
    "raise", "read", "reconnect", "refit", "release", "remove", "replace", "rinse", "roll", "run", "screw", "scrub",
    "see", "set", "shake", "show", "shut", "slide", "smear", "spin", "spray", "squeeze", "stand", "start", "stay",
    "stop", "store", "swing", "switch", "take", "test", "tie", "tighten", "top", "torque", "touch", "try", "turn",
    "unbolt", "unhook", "unplug", "unscrew", "use", "wait", "wake", "warm", "wash", "watch", "wind", "wipe",
    "write",
))  # fmt: skip
"""Verbs of the trade's orders: common practice, no source."""
_ORDERS_END = re.compile(r"(?<=[.!?:])\s+")
_CONNECTED = re.compile(r"[,;]?\s*\b(and then|then|and|or|but)\b\s*|([,;])\s*")


def too_much(text: Text) -> Iterator[Finding]:
    """A prompt or a caution of too many words; a prompt of too many actions."""
    if text.kind == "say":
        yield from _too_long(text, MOST_WORDS)
        found = actions(text.text)
        if len(found) > MOST_ACTIONS:
            shown = "; ".join(found)
            what = f"{len(found)} things to do in one prompt: {shown}"
            do = f"keep {MOST_ACTIONS} at most: make a step of the rest"
            yield text.found("should", "too many actions", what, do, len(found) - MOST_ACTIONS)
    elif text.kind == "caution":
        yield from _too_long(text, MOST_WORDS_OF_CAUTION)
        for sentence in sentences(text.text):
            if word_count(sentence) > MOST_WORDS:
                what = f"a sentence of a caution has {word_count(sentence)} words: '{sentence}'"
                yield text.found("should", "too long", what, f"make two of it, {MOST_WORDS} words each at most")


def _too_long(text: Text, most: int) -> Iterator[Finding]:
    count = word_count(text.text)
    if count > most:
        called = "a caution" if text.kind == "caution" else "a prompt"
        do = f"say it in {most}, or make two {'cautions' if text.kind == 'caution' else 'steps'} of it"
        yield text.found("should", "too long", f"{called} of {count} words", do, (count - most) / most)


def word_count(text: str) -> int:
    """How many words, counted as they are written; an amount is a number and its unit.

    >>> word_count("Set it to 16 pound force feet.")
    7
    """
    return len(text.split())


def actions(text: str) -> list[str]:
    """The clauses that give an order, each with its first words.

    >>> actions("Take the seat and the cover off. Count the screws and say the number.")
    ['Take the seat', 'Count the screws']
    """
    return [action for sentence in _ORDERS_END.split(text) for action in _orders_in(sentence)]


def _orders_in(sentence: str) -> Iterator[str]:
    answering = aside = False
    for link, clause in _clauses(sentence):
        words = clause.lower().split()
        while words and words[0].strip(",") in AHEAD_OF_AN_ORDER:
            words.pop(0)
        if not words:
            continue
        first = words[0].strip(".,!?;:'\"")
        if first in ANSWER:
            answering = True
        elif first in WHEN_OR_WHY:
            aside = True
        elif answering or (aside and link not in (",", ";", "then")):
            continue
        else:
            aside = False
            begins = link in ("", ";") and first not in NO_ORDER
            if begins or link == "then" or _is_order(first, words[1:], link):
                yield _head(clause)


def _is_order(first: str, behind: list[str], link: str) -> bool:
    """Does the word give an order in the middle of a sentence; a thing's name only where the rest tells that it does."""
    after = behind[0].strip(".,!?;:") if behind else ""
    if after in DETERMINERS and first not in NO_ORDER:
        return True
    if first in NOUNS_TOO:
        return link in (",", ";") and bool(after) and after not in PARTICLES
    return first in ORDERS


def _clauses(sentence: str) -> Iterator[tuple[str, str]]:
    """Each clause with what it hangs on: "" for the first, "then", "," or ";" or a connecting word."""
    link, start = "", 0
    for joint in _CONNECTED.finditer(sentence):
        yield link, sentence[start : joint.start()]
        word = joint[1] or joint[2]
        link, start = ("then" if "then" in word else word), joint.end()
    yield link, sentence[start:]


def _head(clause: str) -> str:
    return " ".join(clause.strip(" .,!?;:").split()[:3])
