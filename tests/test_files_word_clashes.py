"""An answer or a shop's word that is a command already is a problem of the file, told with its line and column."""

from __future__ import annotations

import pytest

from assistant.cli import main
from assistant.core.machine import Site
from assistant.core.problems import FileProblems
from assistant.core.speech.commands import ALL
from assistant.files.procedure_file import read_procedure
from assistant.files.site_file import read_site
from assistant.files.word_clashes import refuse_clashes

PROCEDURE = """procedure: p
title: P
version: 1
for: m
conditions: {}
start: {}
never: []
steps:
  - id: look
    title: Look
    say: Look at it.
    readings:
      - name: looks
        ask: ASK
        choices:
          - {name: good, words: [good, fine]}
          - {name: bad, words: [WORDS], good: no}
"""
SITE = "shop: S\ngallon: us_gal\nvalues: {}\nwords:\n  done: [WORDS]\n"


def refused(words: str = "worn", ask: str = "Belt", site: str = "") -> list[str]:
    """What is complained of; nothing where all is well."""
    text = PROCEDURE.replace("WORDS", words).replace("ASK", ask)
    shop = read_site(site, "s.yaml") if site else Site()
    try:
        refuse_clashes(read_procedure(text, "p.yaml"), text, shop, site or "{}")
    except FileProblems as found:
        return [str(problem) for problem in found.problems]
    return []


@pytest.mark.parametrize("phrase", [phrase for command in ALL for phrase in command.said])
def test_no_answer_is_a_command(phrase: str) -> None:
    """Whatever is said for a command is no answer, in capitals or not; and it is told where it stands."""
    [problem] = refused(f"{phrase.capitalize()}")
    assert problem.startswith("p.yaml:17:33: the answer")
    assert "is said like the command" in problem
    assert refused(f"{phrase} thing") == []


@pytest.mark.parametrize("phrase", ["Part", "limits?", "Note"])
def test_no_reading_is_called_as_a_command(phrase: str) -> None:
    """Its name may be said, so it is no command either."""
    [problem] = refused(ask=phrase)
    assert problem.startswith("p.yaml:14:14: the name")


def test_the_shops_own_words_count() -> None:
    """What the shop says for a command is no answer there; what it no longer says is free."""
    [problem] = refused("ready", site=SITE.replace("WORDS", "ready"))
    assert problem.startswith("p.yaml:17:33")
    assert "the command 'done'" in problem
    assert refused("done", site=SITE.replace("WORDS", "ready")) == []


@pytest.mark.parametrize(("words", "about"), [("roger", "the command 'roger'"), ("ten", "a number"), ("all set", "")])
def test_a_shops_word_is_no_other_command_and_no_number(words: str, about: str) -> None:
    """The site sheet is told of by its own line."""
    problems = refused(site=SITE.replace("WORDS", words))
    assert len(problems) == bool(about)
    assert all(one.startswith("s.yaml:5:10") and about in one for one in problems)


def test_two_commands_may_not_change_places_by_halves() -> None:
    """A word that another command has given up is free."""
    swapped = SITE.replace("WORDS", "roger") + "  roger: [understood]\n"
    assert refused(site=swapped) == []


def test_prove_tells_it_without_being_asked(tmp_path, capsys: pytest.CaptureFixture[str]) -> None:
    """It is a problem like any other, with status 1, whether a machine is named or not."""
    path, sheet = tmp_path / "p.yaml", tmp_path / "m.sheet.yaml"
    path.write_text(PROCEDURE.replace("WORDS", "stop").replace("ASK", "Belt"), encoding="utf-8")
    sheet.write_text("model: M\nfor: m\ncounts: {}\nvalues: {}\nparts: {}\n", encoding="utf-8")
    for call in (("prove", str(path)), ("prove", str(path), "--machine", str(sheet))):
        assert main(call) == 1
        assert f"{path}:17:33: the answer 'stop' of 'looks' is said like the command 'stop'" in capsys.readouterr().out
