"""What property tests draw from, in one place: numbers, grammars, and what a bay may throw at the engine."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import strategies as st

from assistant.core.events import DeviceBack, DeviceLost, HeardEarly, Label, Scanned, SpeechDone, Take, Tick
from assistant.core.expected import expectation_of
from assistant.core.speech.automaton import Automaton, Piece, either, maybe, repeat, seq, word
from assistant.core.speech.numbers import NumberShape
from assistant.core.speech.saying import spoken
from assistant.core.speech.step_grammar import grammar_of, meanings_of
from assistant.core.turns.opening import next_part, next_reading, wants_count
from tests.conversation import Conversation, take

LETTERS = "abc"


def values(shape: NumberShape) -> st.SearchStrategy[Decimal]:
    """Every number of a shape, with as many decimals as it may have, or fewer."""

    def drawn(places: int) -> st.SearchStrategy[Decimal]:
        most = 10 ** (shape.whole_digits + places) - 1
        return st.integers(-most if shape.below_zero else 0, most).map(lambda n: Decimal(n).scaleb(-places))

    return st.integers(0, shape.places).flatmap(drawn)


def pieces() -> st.SearchStrategy[Piece]:
    """Small grammars of the words a, b and c; no loop is longer than two."""
    leaf = st.sampled_from(LETTERS).map(lambda text: word(text, ("is", text)))
    return st.recursive(leaf, _combined, max_leaves=5)


def _combined(inner: st.SearchStrategy[Piece]) -> st.SearchStrategy[Piece]:
    parts = st.lists(inner, min_size=1, max_size=3)
    return st.one_of(
        parts.map(lambda each: seq(*each)),
        parts.map(lambda each: either(*each)),
        inner.map(maybe),
        st.tuples(inner, st.integers(0, 1)).map(lambda pair: repeat(pair[0], pair[1], 2)),
    )


def sentences(grammar: Automaton, most: int = 12) -> st.SearchStrategy[str]:
    """What the grammar allows: a walk along its arcs that ends where it may end."""
    return st.lists(st.integers(0, 1 << 16), min_size=most, max_size=most).map(lambda turns: _walk(grammar, turns))


def _walk(grammar: Automaton, turns: list[int]) -> str:
    """Each turn picks the next word, or the end; a walk that is not at an end when the turns are used up is cut there."""
    states, said, whole = grammar.start, [], ""
    for turn in turns:
        choices = sorted(grammar.words(states))
        if grammar.may_end(states):
            whole = " ".join(said)
            choices.append("")
        picked = choices[turn % len(choices)]
        if not picked:
            break
        said.append(picked)
        states = grammar.follow(states, picked)
    return " ".join(said) if grammar.may_end(states) else whole


# A bay


ACTIONS = {"helps": 8, "says": 4, "doubt": 2, "garbage": 1, "label": 1, "early": 1, "tick": 1, "device": 1, "disk": 1,
           "power": 1}  # fmt: skip
"""What may happen next, by weight: what the step wants, anything it allows, an unsure ear, talk, and accidents."""


@st.composite
def happenings(draw: st.DrawFn) -> tuple[str, tuple[int, ...]]:
    """One thing that happens, with dice for its details: `happen` makes it of them, wherever the job then is."""
    what = draw(st.sampled_from([name for name, weight in ACTIONS.items() for _ in range(weight)]))
    return what, tuple(draw(st.lists(st.integers(0, 1 << 16), min_size=12, max_size=12)))


def happen(bay: Conversation, what: str, dice: tuple[int, ...]) -> Conversation:
    """Let it happen; the conversation that goes on (a new one after a power cut)."""
    match what:
        case "helps":
            help_on(bay, dice)
        case "says":
            bay.hear(_walk(grammar_of(expectation_of(bay.state)), list(dice)))
        case "doubt":
            bay.hear_takes(*_doubtful(bay, dice))
        case "garbage":
            bay.hear_takes(Take("vosk", (), unknown=True), Take("whisper", ()))
        case "label":
            bay.send(Scanned(bay.now_s, _labels(bay, dice)))
        case "early":
            bay.send(HeardEarly(bay.now_s, ("stop",)))
        case "tick":
            bay.send(SpeechDone(bay.now_s, dice[1])) if dice[0] % 2 else bay.send(Tick(bay.now_s))
        case "device":
            bay.send(
                DeviceLost(bay.now_s, "microphone", "gone") if dice[0] % 2 else DeviceBack(bay.now_s, "microphone")
            )
        case "disk":
            bay.disk_full = not bay.disk_full
        case _:
            bay.disk_full = False
            return bay.resumed()
    return bay


def _doubtful(bay: Conversation, dice: tuple[int, ...]) -> tuple[Take, ...]:
    """Two ears that each heard something else the step allows, or the same, with some shares."""
    grammar = grammar_of(expectation_of(bay.state))
    one, two = _walk(grammar, list(dice[:6])), _walk(grammar, list(dice[6:]))
    share = 0.3 + (dice[0] % 7) / 10
    return (
        take("vosk", (one, share), (two, 1 - share)),
        take("whisper", (one if dice[1] % 3 else two, share), fits=-0.5),
    )


def _labels(bay: Conversation, dice: tuple[int, ...]) -> tuple[Label, ...]:
    """The label of the part that is wanted, of another, of none we know, of a packet past its date, or no label."""
    role = next_part(bay.state)
    wanted = bay.state.parts.get(role)
    right = (
        (Label("EAN-13", wanted.gtins[0]) if wanted.gtins else Label("CODE-128", wanted.numbers[0])) if wanted else None
    )
    others = [Label("CODE-128", part.numbers[0]) for part in bay.state.parts.values() if part.numbers]
    stale = Label("GS1-128", f"01{wanted.gtins[0]:0>14}17200131") if wanted and wanted.gtins else None
    choices = [right, right, stale, Label("CODE-128", "NOT-OURS"), Label("EAN-13", "2990001000422"), *others, None]
    chosen = choices[dice[0] % len(choices)]
    return (chosen,) if chosen else ()


def help_on(bay: Conversation, dice: tuple[int, ...]) -> None:
    """What brings the job on from here."""
    match bay.state.talk.phase:
        case "question" if bay.state.talk.question is not None and bay.state.talk.question.kind in ("choose", "digits"):
            _say_the_value(bay)
        case "condition" | "question":
            bay.hear("affirm")
        case "caution":
            bay.hear("roger")
        case "remark":
            bay.hear("it is worn")
        case "counting":
            bay.wait(1.1)
        case "scanning":
            bay.send(Scanned(bay.now_s, _labels(bay, (0,))))
        case "standing by":
            bay.hear("go ahead")
        case _:
            _do_the_step(bay, dice)


def _say_the_value(bay: Conversation) -> None:
    """The first of the two that were asked about, or drop it where it was no value of the open step."""
    question = bay.state.talk.question
    said = question.words.removeprefix("correction ") if question else ""
    if not any(m.readings and not m.correction for m in meanings_of(expectation_of(bay.state), tuple(said.split()))):
        said = "disregard"
    bay.hear(said)


def _do_the_step(bay: Conversation, dice: tuple[int, ...]) -> None:
    wanted = next_reading(bay.state)
    if wanted is not None and wanted[0].kind == "choice":
        choices = wanted[0].choices
        bay.hear(choices[dice[0] % len(choices)].words[0])
    elif wanted is not None:
        low, high = wanted[0].plausible
        bay.hear(spoken(low + dice[0] % int(high - low + 1)))
    elif next_part(bay.state):
        bay.hear("part")
    else:
        bay.hear("go ahead" if wants_count(bay.state) else "done")
