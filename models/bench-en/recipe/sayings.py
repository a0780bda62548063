"""Random things that a technician says at the bench, as lists of words; and single words that mean nothing there.

Forms are common practice, no source: figures one by one, in pairs, in full; a place, a value, a unit; commands; findings.
They were written without a look at any test phrase. `python3 sayings.py SEED MANY` prints some.
"""

import random
import sys
from collections.abc import Callable

from foreign import COMMON
from words import FIGURES, ICAO, LETTERS, MONTHS, ORDINALS, RADIO, TEENS, TENS, listed

Words = list[str]


def phrases(listed_with_strokes: str) -> tuple[str, ...]:
    """What stands between the strokes."""
    return tuple(phrase.strip() for phrase in listed_with_strokes.split("|"))


DIGITS = FIGURES[1:]
ON_THE_RADIO = {figure: radio for radio, figure in RADIO.items()} | {"nine": "niner"}
PLACES = ("cylinder",) * 4 + ("cell", "bolt", "cell", "bolt", "plug", "stud", "number")
UNITS = phrases(
    """p s i|psi|volts|amps|ohms|degrees|degrees celsius|degrees fahrenheit|percent|millimeters|inches|feet|pounds|foot pounds|
    newton meters|quarts|pints|ounces|fluid ounces|liters|milliliters|milli liters|cubic centimeters|c c|r p m|rpm|hours|
    minutes|seconds|kilopascals|thou|bar|gallons"""
)
COMMANDS = phrases(
    """say again|read back|where are we|limits|stop|stand by|standby|go ahead|disregard|correction|affirm|affirmative|
    negative|roger|words twice|done|go back|unable|note|finding|part|yes|no|okay|down|skip|next|repeat|cancel|ready"""
)
FOUND = listed(
    """tan fouled oily wet dry clean dirty worn scored cracked missing torn pitted corroded bent loose tight milky black grey
    brown white none clear cloudy pink replaced good bad empty full closed stale fresh flat warm low high okay"""
)
THINGS = phrases(
    """impeller|housing|seal|ring|gasket|hose|pump|grease|wear ring|belt|anode|hull|battery|coolant|antifreeze|oil|filter|
    spark plug|nozzle|throttle cable|lanyard|water|cover|screw|clamp|exhaust|intake|drive shaft|propeller|ground|
    positive terminal"""
)
BLURRED = (
    *((teen, ten) for teen, ten in zip(TEENS[3:], TENS[1:], strict=True)),
    *zip(DIGITS[1:], TENS, strict=True),
    *(("sixty", "seventy"), ("sixteen", "seventeen"), ("five", "nine"), ("fifty", "sixty"), ("one", "nine")),
    *(("oh", "four"), ("thirty", "forty"), ("two", "ten"), ("twelve", "twenty"), ("eight", "eighteen")),
)
"""Pairs that the model before this one, or people, take for each other."""


def figures(draw: random.Random) -> Words:
    """Two to eight figures one by one; doubled ones and *oh* come often."""
    many, said = draw.choice((2, 2, 3, 3, 3, 4, 4, 5, 6, 7, 8)), Words()
    radio = draw.random() < 0.12
    while len(said) < many:
        figure = draw.choice(DIGITS) if draw.random() < 0.85 else draw.choice(("oh", "oh", "zero"))
        if radio:
            figure = ON_THE_RADIO.get(figure, figure)
        said += [figure] * draw.choice((1, 1, 1, 2, 2, 3))
    return said[:many]


def below_hundred(draw: random.Random) -> Words:
    """10 to 99."""
    if draw.random() < 0.3:
        return [draw.choice(TEENS)]
    return [draw.choice(TENS)] + ([draw.choice(DIGITS)] if draw.random() < 0.7 else [])


def pairs(draw: random.Random) -> Words:
    """One ninety, two oh five, twelve forty, forty eight eighty two."""
    first = [draw.choice(DIGITS)] if draw.random() < 0.7 else below_hundred(draw)
    return first + (below_hundred(draw) if draw.random() < 0.8 else ["oh", draw.choice(DIGITS)])


def blurred(draw: random.Random) -> Words:
    """Words that are taken for each other, side by side or alone: forty eight, four eight, forty, fourteen."""
    pair = draw.choice(BLURRED)
    return draw.choice(
        (
            [draw.choice(pair)],
            [draw.choice(pair), draw.choice(DIGITS)],
            [draw.choice(DIGITS), draw.choice(pair)],
            [draw.choice(DIGITS), draw.choice(pair), draw.choice(DIGITS)],
            [draw.choice(pair), draw.choice(pair)],
        )
    )


def in_full(draw: random.Random) -> Words:
    """One hundred and eighty eight, three thousand two hundred."""
    said = (
        [draw.choice(DIGITS), "hundred"]
        if draw.random() < 0.75
        else [draw.choice((*DIGITS, "ten", "twelve")), "thousand"]
    )
    if said[1] == "thousand" and draw.random() < 0.6:
        said += [draw.choice(DIGITS), "hundred"]
    if draw.random() < 0.7:
        said += (["and"] if draw.random() < 0.5 else []) + (
            below_hundred(draw) if draw.random() < 0.75 else [draw.choice(DIGITS)]
        )
    return said


def decimals(draw: random.Random) -> Words:
    """Twelve six, fourteen point five, zero decimal zero two eight, minus ten."""
    if draw.random() < 0.2:
        return [draw.choice(TEENS), draw.choice((*DIGITS, "oh"))]
    whole = below_hundred(draw) if draw.random() < 0.5 else [draw.choice(FIGURES)]
    said = [*whole, draw.choice(("point", "point", "decimal"))]
    said += [draw.choice((*FIGURES, "oh")) for _ in range(draw.choice((1, 1, 2, 3)))]
    return (["minus"] if draw.random() < 0.08 else []) + said


def value(draw: random.Random) -> Words:
    """A reading, in any of the forms."""
    forms = (figures, pairs, pairs, blurred, in_full, decimals, below_hundred)
    return draw.choice(forms)(draw)


def reading(draw: random.Random) -> Words:
    """A value with its unit."""
    return value(draw) + draw.choice(UNITS).split()


def placed(draw: random.Random) -> Words:
    """Cylinder four one ninety, bolt seven, cell two twelve six volts: every number as often as another."""
    said = [draw.choice(PLACES), draw.choice((*DIGITS, *DIGITS, *DIGITS, *TEENS))]
    kind = draw.random()
    if kind < 0.12:
        return said
    if kind < 0.2:
        return [*said, draw.choice(FOUND)]
    said += draw.choice((pairs, pairs, figures, blurred, in_full, decimals, below_hundred))(draw)
    return said + (draw.choice(UNITS).split() if draw.random() < 0.3 else [])


def command(draw: random.Random) -> Words:
    """A command alone, now and then two, or one with what it takes."""
    kind = draw.random()
    said = draw.choice(COMMANDS).split()
    if kind < 0.12:
        return said + draw.choice(COMMANDS).split()
    if kind < 0.3:
        return draw.choice(("correction", "disregard", "finding", "note", "unable", "part")).split() + draw.choice(
            (value, placed, found)
        )(draw)
    return said


def found(draw: random.Random) -> Words:
    """What was found on what."""
    kind = draw.random()
    if kind < 0.35:
        return [draw.choice(FOUND)]
    if kind < 0.5:
        return [draw.choice(FOUND), "and", draw.choice(FOUND)]
    return [*draw.choice(THINGS).split(), draw.choice(FOUND)]


def fraction(draw: random.Random) -> Words:
    """Five sixteenths, two and a half, three thousandths of an inch."""
    parts = (
        "eighth",
        "sixteenth",
        "thirty second",
        "sixty fourth",
        "half",
        "quarter",
        "tenth",
        "hundredth",
        "thousandth",
    )
    part, many = draw.choice(parts), draw.choice((*DIGITS, "eleven", "thirteen", "fifteen"))
    plural = "halves" if part == "half" else f"{part}s"
    said = [many, *(part if many == "one" else plural).split()]
    kind = draw.random()
    if kind < 0.25:
        return [draw.choice(DIGITS), "and", *said]
    if kind < 0.45:
        return [draw.choice(DIGITS), "and", "a", draw.choice(("half", "quarter", "eighth"))]
    return said + (["of", "an", "inch"] if part == "thousandth" or kind > 0.85 else [])


def date(draw: random.Random) -> Words:
    """Twenty third of november, march fifth."""
    day = (
        [draw.choice(ORDINALS)]
        if draw.random() < 0.6
        else [draw.choice(("twenty", "thirty")), draw.choice(ORDINALS[:9])]
    )
    month = draw.choice(MONTHS)
    return draw.choice(([month, *day], [*day, "of", month], ["the", *day, "of", month], [month, *below_hundred(draw)]))


def code(draw: random.Random) -> Words:
    """Letters by the ICAO alphabet or plain, with figures among them."""
    plain = draw.random() < 0.25
    signs = [letter for letter in LETTERS if letter not in "ao"] if plain else ICAO  # a voice says *a* as the article
    return [draw.choice(signs if draw.random() < 0.7 else FIGURES) for _ in range(draw.choice((1, 2, 3, 4)))]


def foreign(draw: random.Random) -> Words:
    """One or two words that mean nothing at the bench."""
    return [draw.choice(COMMON) for _ in range(draw.choice((1, 1, 1, 2)))]


def among_foreign(draw: random.Random) -> Words:
    """A value or a command with a foreign word before, after or within."""
    said = draw.choice((value, placed, command))(draw)
    for _ in range(draw.choice((1, 1, 2))):
        said.insert(draw.choice((0, 0, len(said), draw.randint(0, len(said)))), draw.choice(COMMON))
    return said


KINDS: tuple[tuple[float, Callable[[random.Random], Words]], ...] = (
    (0.19, figures), (0.09, pairs), (0.10, blurred), (0.07, in_full), (0.05, decimals), (0.05, reading), (0.17, placed),
    (0.12, command), (0.04, found), (0.03, fraction), (0.02, date), (0.03, code), (0.04, among_foreign),
)  # fmt: skip
"""Shares of what is said. Foreign words alone are asked for by name: `synthesise.py` takes voices of their own for them."""


def saying(draw: random.Random) -> Words:
    """Something that a technician says."""
    return draw.choices([kind for _, kind in KINDS], [share for share, _ in KINDS])[0](draw)


if __name__ == "__main__":
    source = random.Random(int(sys.argv[1]))
    for _ in range(int(sys.argv[2])):
        print(" ".join(saying(source)))
