"""Numbers as they are said: published read-backs, published spoken forms, and that each way of saying comes back."""

from __future__ import annotations

from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.core.speech.automaton import Automaton, Piece, Tag, either, mark, maybe, repeat, seq, word
from assistant.core.speech.compiling import Weaver, compile_grammar, embedded
from assistant.core.speech.numbers import NumberShape, number_piece, number_values, shape_of
from assistant.core.speech.ranges import within
from assistant.core.speech.saying import figures, spoken, ways_to_say
from tests.strategies import LETTERS, pieces, sentences, values

SHAPES = {
    "one digit": NumberShape(1),
    "count": NumberShape(2),
    "psi": NumberShape(3),
    "rpm": NumberShape(4),
    "volts": NumberShape(2, places=1, fractions=True),
    "volts to a hundredth": NumberShape(2, places=2, fractions=True),
    "hours": NumberShape(3, places=1, fractions=True),
    "hours of an old engine": NumberShape(4, places=1, fractions=True),
    "specific gravity": NumberShape(1, places=3, fractions=True),
    "freezing point": NumberShape(2, below_zero=True),
}
GRAMMARS = {name: compile_grammar(number_piece(shape)) for name, shape in SHAPES.items()}


def worth(name: str, said: str) -> frozenset[Decimal]:
    """All that the words may be worth in that shape, as `meanings_of` has it: a last resort only where all else fails."""
    plain: set[Decimal] = set()
    last_resort: set[Decimal] = set()
    for tags in GRAMMARS[name].paths(said.split()):
        found = number_values(tags)
        (last_resort if ("last resort",) in tags else plain).update(found)
    return frozenset(v for v in plain or last_resort if len(str(abs(int(v)))) <= SHAPES[name].whole_digits)


@pytest.mark.parametrize("name", SHAPES)
@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_every_way_to_say_a_number_is_worth_it(name: str, data: st.DataObject) -> None:
    """Number -> every way to say it -> the grammar -> the number is among what the words are worth."""
    value = data.draw(values(SHAPES[name]))
    for said in (*ways_to_say(value), spoken(value)):
        assert value in worth(name, said), said


@pytest.mark.parametrize("name", SHAPES)
@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_the_read_back_can_be_said_and_is_worth_one_number(name: str, data: st.DataObject) -> None:
    """What the assistant reads back digit by digit, said by the technician, means that number and no other."""
    value = data.draw(values(SHAPES[name]))
    assert worth(name, figures(value)) == {value}


# Read back digit by digit. ICAO: Annex 10 volume II 5.2.1.4 as restated at flightcrewguide.com; FAA: AIM 4-2-8 (faraim.org);
# JO: FAA JO 7110.65 2-4-17 (pointsixtyfive.com); ACP: ACP 125 as taught by the US Navy (navyaviation.tpub.com, its "fife,
# fower" are how five and four are pronounced); maritime: Canadian restatement (cruising.bc.ca). All in reference.md 2.3.
READ_BACK = [
    ("100", "one zero zero", "ICAO heading"),
    ("180", "one eight zero", "ICAO level"),
    ("200", "two zero zero", "ICAO level"),
    ("2400", "two four zero zero", "ICAO code"),
    ("4203", "four two zero three", "ICAO code"),
    ("1010", "one zero one zero", "ICAO pressure"),
    ("1000", "one zero zero zero", "ICAO pressure"),
    ("118.1", "one one eight decimal one", "ICAO; from memory"),
    ("122.1", "one two two decimal one", "ICAO form of FAA's row"),
    ("10", "one zero", "FAA"),
    ("190", "one niner zero", "FAA level"),
    ("11495", "one one four niner five", "JO serial"),
    ("20069", "two zero zero six niner", "JO serial"),
    ("1915", "one niner one five", "JO time"),
    ("44", "four four", "ACP"),
    ("90", "niner zero", "ACP"),
    ("500", "five zero zero", "ACP"),
    ("1478", "one four seven eight", "ACP"),
    ("812681", "eight one two six eight one", "ACP"),
    ("75", "seven five", "maritime"),
    ("5800", "five eight zero zero", "maritime"),
    ("68009", "six eight zero zero niner", "maritime"),
    ("2030", "two zero three zero", "maritime time"),
]


@pytest.mark.parametrize(("value", "said", "source"), READ_BACK)
def test_figures_are_sent_as_published(value: str, said: str, source: str) -> None:
    """The read-back is the published digit-by-digit form."""
    assert figures(Decimal(value)) == said, source


# The same sources; "quantity" forms beside them. Four digits fit a reading's range up to 9 999.
ACCEPTED = [
    ("080", "zero eight zero", "80", "ICAO heading"),
    ("800", "eight hundred", "800", "ICAO altitude"),
    ("3400", "three thousand four hundred", "3400", "ICAO altitude"),
    ("2200", "two thousand two hundred", "2200", "ICAO cloud"),
    ("4300", "four thousand three hundred", "4300", "ICAO cloud"),
    ("500", "five hundred", "500", "FAA"),
    ("4500", "four thousand five hundred", "4500", "FAA"),
    ("0715", "zero seven one five", "715", "JO time"),
    ("44", "fower fower", "44", "ACP"),
    ("500", "fife zero zero", "500", "ACP"),
    ("7000", "seven thousand", "7000", "ACP"),
    ("0045", "zero zero four five", "45", "maritime time"),
    ("tree", "one tree", "13", "ICAO pronunciation of three"),
    ("oh", "two oh five", "205", "everyday speech, no source"),
]


@pytest.mark.parametrize(("_written", "said", "value", "source"), ACCEPTED)
def test_published_spoken_forms_are_taken(_written: str, said: str, value: str, source: str) -> None:
    """A technician who learnt any of these rules is understood."""
    assert worth("rpm", said) == {Decimal(value)}, source


@pytest.mark.parametrize(
    ("said", "value"), [("one one eight decimal one", "118.1"), ("one two two point one", "122.1")]
)
def test_decimal_and_point_are_the_same(said: str, value: str) -> None:
    """ICAO and ITU say decimal, the FAA's manual point."""
    assert worth("hours", said) == {Decimal(value)}


REFUSED = [
    # Published forms of five digits and more, which no reading of ours needs: refused, never shortened.
    ("rpm", "one two thousand", "ICAO altitude 12000"),
    ("rpm", "one zero thousand", "FAA 10000"),
    ("rpm", "one three thousand five hundred", "FAA 13500"),
    ("rpm", "one seven thousand niner hundred", "JO 17900"),
    ("rpm", "one six thousand", "ACP 16000"),
    ("rpm", "one one four niner five", "JO 11495: five digits"),
    # ITU Radio Regulations appendix 14: its code words are not in any list of ours.
    ("psi", "unaone novenine nadazero", "ITU 190"),
    # No number at all, or more of it than the reading holds.
    ("psi", "", "nothing"),
    ("psi", "one hundred ninety five five", "a digit too many"),
    ("psi", "one nine zero point five", "no decimals here"),
    ("psi", "hundred", "how many hundreds"),
    ("psi", "and five", "an ear's half sentence"),
    ("psi", "ninety hundred", "9000 does not fit three digits"),
    ("psi", "minus one nine zero", "nothing below zero here"),
    ("psi", "ten eleven twelve", "three teens"),
    ("volts", "twelve point", "a point and nothing"),
    ("volts", "twelve point six five four three", "two finer than usual are taken, three are not"),
    ("count", "one two three", "three digits"),
]


@pytest.mark.parametrize(("shape", "said", "why"), REFUSED)
def test_what_is_no_number_of_that_shape_is_refused(shape: str, said: str, why: str) -> None:
    """Refusals beside acceptances."""
    assert worth(shape, said) == frozenset(), why


AMBIGUOUS = [
    ("hours", "twelve six", {"126", "12.6"}),
    ("volts to a hundredth", "twelve sixty five", {"12.65"}),
    ("volts", "two and a half", {"2.5"}),
    ("volts", "three quarters", {"0.75"}),
    ("rpm", "eighteen fifty", {"1850"}),
    ("rpm", "nineteen hundred", {"1900"}),
    ("rpm", "twenty oh five", {"2005"}),
    ("rpm", "double five", {"55"}),
    ("rpm", "triple five", {"555"}),
    ("freezing point", "minus thirty eight", {"-38"}),
    ("freezing point", "thirty eight below", {"-38"}),
    ("freezing point", "thirty eight below zero", {"-38"}),
]


@pytest.mark.parametrize(("shape", "said", "meant"), AMBIGUOUS)
def test_everyday_forms(shape: str, said: str, meant: set[str]) -> None:
    """Pairs, fractions and signs are worth what a mechanic means, and both values where both are possible."""
    assert worth(shape, said) == {Decimal(m) for m in meant}


def test_the_shape_of_a_range() -> None:
    """Digits and sign follow from the plausible range, fractions from there being decimals."""
    assert shape_of(Decimal(0), Decimal(300), 0) == NumberShape(3)
    assert shape_of(Decimal(-80), Decimal(40), 0) == NumberShape(2, below_zero=True)
    assert shape_of(Decimal(0), Decimal("16.5"), 1) == NumberShape(2, places=1, fractions=True)


@pytest.mark.parametrize("name", SHAPES)
@given(data=st.data())
@settings(max_examples=80, deadline=None)
def test_a_cut_grammar_is_the_whole_one_less_what_lies_outside(name: str, data: st.DataObject) -> None:
    """Between any two bounds, the paths of any words are those of the whole grammar that are worth something in between."""
    bounds = sorted(data.draw(st.tuples(values(SHAPES[name]), values(SHAPES[name]))))
    low, high = bounds[0], bounds[1]
    cut = compile_grammar(within(number_piece(SHAPES[name]), low, high))
    said = data.draw(sentences(GRAMMARS[name])).split()
    assert cut.paths(said) == {
        tags for tags in GRAMMARS[name].paths(said) if number_values(tags) & between(tags, low, high)
    }
    inside = data.draw(sentences(cut)).split()
    assert not inside or all(low <= v <= high for tags in cut.paths(inside) for v in number_values(tags))


def between(tags: tuple[Tag, ...], low: Decimal, high: Decimal) -> frozenset[Decimal]:
    return frozenset(v for v in number_values(tags) if low <= v <= high)


def test_a_range_that_no_form_reaches_has_no_words() -> None:
    """An empty range is an empty grammar, not an error."""
    nothing = compile_grammar(within(number_piece(NumberShape(2)), Decimal(200), Decimal(300)))
    assert nothing.vocabulary == frozenset()
    assert not nothing.accepts([])


@pytest.mark.parametrize("said", ["twenty four", "thirty five", "ninety one"])
def test_a_ten_and_a_unit_are_one_group(said: str) -> None:
    """ "Twenty four" is 24 wherever three figures may be said, never 204 or 20.4."""
    for name in ("psi", "rpm", "volts", "hours"):
        assert len(worth(name, said)) == 1


# The automaton, against a grammar enumerated by hand


def everything(piece: Piece) -> set[tuple[tuple[str, ...], tuple[Tag, ...]]]:
    """Every (words, tags) of a small grammar, by the meaning of its combinators alone."""
    match piece.kind:
        case "word":
            return {((piece.text,), piece.tags)}
        case "either":
            return set().union(*(everything(part) for part in piece.parts))
        case "seq":
            return {(said, tags + piece.tags) for said, tags in _joined([everything(part) for part in piece.parts])}
        case _:
            one = everything(piece.parts[0])
            return set().union(*(_joined([one] * n) for n in range(piece.least, piece.most + 1)))


def _joined(
    parts: list[set[tuple[tuple[str, ...], tuple[Tag, ...]]]],
) -> set[tuple[tuple[str, ...], tuple[Tag, ...]]]:
    return {
        (tuple(w for said, _ in chosen for w in said), tuple(t for _, tags in chosen for t in tags))
        for chosen in product(*parts)
    }


def strings(length: int) -> list[tuple[str, ...]]:
    return [said for n in range(length + 1) for said in product(LETTERS, repeat=n)]


def pairs_of(sentences: set[tuple[str, ...]]) -> set[tuple[str, str]]:
    return {pair for said in sentences if said for pair in zip(("", *said), (*said, ""), strict=True)}


@given(pieces())
@settings(max_examples=150, deadline=None)
def test_it_accepts_and_tags_exactly_what_the_grammar_says(piece: Piece) -> None:
    """`accepts` and `paths` equal the enumeration of the grammar, for every string of up to four words."""
    grammar, all_of_it = compile_grammar(piece), everything(piece)
    for said in strings(4):
        tags = {t for words_said, t in all_of_it if words_said == said}
        assert grammar.paths(said) == tags
        assert grammar.accepts(said) == bool(tags)


@given(pieces(), pieces())
@settings(max_examples=80, deadline=None)
def test_a_compiled_part_is_as_good_as_one_that_is_not(part: Piece, rest: Piece) -> None:
    """Embedded in a larger grammar, what was compiled before has the same paths; in front, behind and repeated."""
    once = embedded(compile_grammar(part))
    for plain, with_compiled in (
        (seq(part, rest), seq(once, rest)),
        (seq(rest, part), seq(rest, once)),
        (either(maybe(part), rest), either(maybe(once), rest)),
    ):
        one, other = compile_grammar(plain), compile_grammar(with_compiled)
        assert all(one.paths(said) == other.paths(said) for said in strings(3))


def numbered(grammar: Automaton) -> tuple[object, ...]:
    """All of an automaton, its states by the order in which they are reached."""
    number = {state: n for n, state in enumerate(grammar.arcs)}
    arcs = [
        [(w, [(tags, number[to]) for tags, to in targets]) for w, targets in by_word.items()]
        for by_word in grammar.arcs.values()
    ]
    ends = [(number[state], ended) for state, ended in grammar.ends.items()]
    return arcs, ends, number[grammar.first], grammar.phrases


@given(st.lists(pieces(), max_size=4), pieces())
@settings(max_examples=80, deadline=None)
def test_what_was_compiled_before_changes_nothing(before: list[Piece], piece: Piece) -> None:
    """Grammars share their states: the automaton of one, and its phrases, are what they are where it is alone."""
    shared = Weaver()
    embedding = either(piece, *(embedded(compile_grammar(one, shared)) for one in before))
    compile_grammar(embedding, shared)
    assert numbered(compile_grammar(piece, shared)) == numbered(compile_grammar(piece, Weaver()))
    assert numbered(compile_grammar(embedding, shared)) == numbered(compile_grammar(embedding, Weaver()))


@given(pieces())
@settings(max_examples=150, deadline=None)
def test_phrases_show_exactly_the_pairs_that_may_follow(piece: Piece) -> None:
    """Every phrase may be said, and between them they show each pair of words, first word and last word, once at least."""
    grammar = compile_grammar(piece)
    shown = set(grammar.phrases)
    assert all(grammar.accepts(phrase) for phrase in shown)
    assert pairs_of(shown) == pairs_of({said for said, _ in everything(piece)})


@given(pieces(), st.sets(st.sampled_from(LETTERS)))
@settings(max_examples=150, deadline=None)
def test_without_is_the_same_grammar_less_those_words(piece: Piece, gone: set[str]) -> None:
    """What needs none of the words is accepted as before, what needs one is not."""
    grammar, less = compile_grammar(piece), compile_grammar(piece).without(gone)
    for said in strings(4):
        assert less.accepts(said) == (grammar.accepts(said) and not gone.intersection(said))
    assert not less.vocabulary & gone
    assert pairs_of(set(less.phrases)) == pairs_of({s for s, _ in everything(piece) if not gone.intersection(s)})


@given(pieces())
@settings(max_examples=80, deadline=None)
def test_following_word_by_word_is_accepting(piece: Piece) -> None:
    """`words`, `follow` and `may_end`, which Whisper's search walks with, tell the same as `accepts`."""
    grammar = compile_grammar(piece)
    for said in strings(3):
        states = grammar.start
        for text in said:
            allowed = text in grammar.words(states)
            states = grammar.follow(states, text)
            assert allowed == bool(states)
        assert grammar.may_end(states) == grammar.accepts(said)


def test_a_mark_waits_for_the_next_word() -> None:
    """Tags without a word stand on the path where they were written."""
    grammar: Automaton = compile_grammar(
        seq(mark(("begin",)), repeat(either(word("a", ("a",)), maybe(word("b"))), 1, 2))
    )
    assert grammar.paths(["a", "b"]) == {(("begin",), ("a",))}
    assert grammar.paths([]) == {(("begin",),)}
