"""How Whisper is asked, as it came and taught."""

import pytest

from assistant.core.speech.automaton import either, repeat, word
from assistant.core.speech.compiling import compile_grammar
from assistant.devices.recognisers.whisper_manner import STYLE, TAUGHT, UNTAUGHT, Manner, examples_of

STEP = compile_grammar(
    either(word("roger"), word("say again"), word("done"), repeat(either(word("one"), word("two")), 1, 3))
)


@pytest.mark.parametrize(
    ("manner", "sound_s", "window_s"),
    [
        (TAUGHT, 0.1, 2),
        (TAUGHT, 2.0, 2),
        (TAUGHT, 2.001, 4),
        (TAUGHT, 30.0, 30),
        (TAUGHT, 30.001, None),
        (UNTAUGHT, 0.1, 10),
        (UNTAUGHT, 10.001, 30),
        (UNTAUGHT, 30.001, None),
    ],
)
def test_the_shortest_window_that_the_sound_fits(manner: Manner, sound_s: float, window_s: int | None) -> None:
    """Beyond 30 s, all that Whisper has places for, there is none."""
    assert manner.window_s(sound_s) == window_s


def test_examples_show_every_word_that_is_no_figure_once() -> None:
    """The shortest phrases, without figures."""
    assert sorted(examples_of(STEP)) == [("done",), ("roger",), ("say", "again")]


def test_only_the_untaught_is_shown_examples() -> None:
    """In the wished style, names with a capital."""
    assert UNTAUGHT.prompt(STEP).startswith(STYLE)
    assert " Roger." in UNTAUGHT.prompt(STEP)
    assert TAUGHT.prompt(STEP) == ""
