"""Words of a procedure, or of the shop's own commands, that are a command already: nobody could tell which was said.

An answer, a reading's name or a place that is said as a command is said would end the step, or skip it, in place of being
kept. This is a fault of the file, not a matter of taste: `files.word_clashes` refuses it before a job begins.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from assistant.core.ear_lint.findings import Finding
from assistant.core.machine import Site
from assistant.core.procedure import Procedure, Reading, Step
from assistant.core.speech.commands import BY_NAME, spoken_forms
from assistant.core.speech.numbers import DIGITS, TEENS, TENS

RULE = "word is a command"


def in_steps(procedure: Procedure, site: Site) -> Iterator[Finding]:
    """Each answer, name and place that is a command, as commands are said in this shop."""
    commands = spoken_forms(BY_NAME, site.words_for_commands)
    for step in procedure.steps:
        for n, reading in enumerate(step.readings):
            for words, called, path in _said_of(reading):
                command = commands.get(words.lower())
                if command is not None:
                    yield _clash(step, ("readings", n, *path), f"{called} '{words}' of '{reading.name}'", command)


def _said_of(reading: Reading) -> Iterator[tuple[str, str, tuple[str | int, ...]]]:
    """What is said of a reading, what that is, and where it stands."""
    yield reading.spoken_name, "the name", ("ask",)
    if reading.each:
        yield reading.each, "the place", ("each",)
    for n, position in enumerate(reading.positions):
        if isinstance(position, str):
            yield position, "the place", ("positions", n)
    for n, choice in enumerate(reading.choices):
        for m, words in enumerate(choice.words):
            yield words, "the answer", ("choices", n, "words", m)


def _clash(step: Step, path: tuple[str | int, ...], what: str, command: str) -> Finding:
    does = BY_NAME[command].does
    return Finding(
        "must",
        RULE,
        f"{what} is said like the command '{command}', which {_third_person(does)}",
        "take another word",
        step.id,
        step.line,
        path,
    )


def _third_person(does: str) -> str:
    return does if does.split(maxsplit=1)[0].endswith("s") else f"means: {does}"


def in_site(site: Site) -> Iterator[Finding]:
    """The shop's own words for a command that are those of another command, or a number."""
    numbers = {*DIGITS, *TEENS, *TENS}
    for command, phrases in site.command_words.items():
        theirs = _forms_of_others(command, site.words_for_commands)
        for n, words in enumerate(phrases):
            if words in theirs:
                what = f"'{words}' for the command '{command}' is said like the command '{theirs[words]}'"
            elif words in numbers:
                what = f"'{words}' for the command '{command}' is a number, and would be taken for a value"
            else:
                continue
            yield Finding("must", RULE, what, "take another word", path=("words", command, n))


def _forms_of_others(command: str, renamed: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    return spoken_forms((name for name in BY_NAME if name != command), renamed)
