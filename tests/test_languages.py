"""Languages are data: Spanish, walked through whole, and one that nobody speaks, in which no English is left."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.bench.clock import WallClock
from assistant.bench.equipment import chosen_ears, voice_settings
from assistant.bench.listening import parse_words
from assistant.bench.starting import open_job, resume_job
from assistant.cli import main
from assistant.core.problems import CallProblem, FileProblems
from assistant.core.speech.english import ENGLISH, told
from assistant.core.speech.english_parts import DEVICES
from assistant.core.speech.language import Language, placeholders
from assistant.files import disk_trouble
from assistant.files.language_file import find_language, load_language, shipped_languages
from assistant.files.site_file import read_site
from assistant.files.work import read_work
from assistant.settings import Settings
from tests.conversation import TABLES, TODAY
from tests.made_language import WORD, language_text
from tests.test_said_meant import meant_text
from tests.written_talk import lines_of, replayed

ROOT = Path(__file__).resolve().parents[1]
FILES = TABLES / "spanish"
JOB = (FILES / "taller.yaml", FILES / "taller.sheet.yaml", FILES / "taller.site.yaml")
WORK = read_work(*JOB)
SPANISH = WORK.site.language
MADE = "shop: zu\ngallon: us_gal\nlanguage: zu.yaml\n"


@pytest.fixture
def zulike(tmp_path: Path) -> Language:
    """The language that a machine made."""
    (tmp_path / "zu.yaml").write_text(language_text(), encoding="utf-8")
    return load_language(tmp_path / "zu.yaml")


def test_the_spanish_conversation_is_word_for_word_the_committed_one() -> None:
    """From the first step to the last: cautions, values out of limits, corrections, parts, a full disk, a resume, unable."""
    lines = lines_of(FILES / "taller.talk.txt")
    assert list(replayed(WORK, lines)) == lines
    assert lines[-1][1].startswith("Terminado. 7 pasos hechos, 1 sin hacer.")


SAID_MEANT = [
    ("compresion", "cilindro dos ciento noventa", "compresion cylinder 2 = 190 psi within"),
    ("compresion", "cilindro dos uno nueve cero", "compresion cylinder 2 = 190 psi within"),
    ("compresion", "en el cilindro número tres ciento noventa y dos", "compresion cylinder 3 = 192 psi within"),
    ("compresion", "compresión cilindro dos es doscientas quince libras", "compresion cylinder 2 = 215 psi within"),
    ("compresion", "ciento noventa en el cilindro dos", "compresion cylinder 2 = 190 psi within"),
    ("compresion", "doce bares", "compresion cylinder 1 = 174.04528527625105819 psi low"),
    ("compresion", "uno noventa", "unclear"),
    ("compresion", "cylinder two one ninety", "unclear"),
    ("compresion", "one ninety", "unclear"),
    ("compresion", "treinta uno", "unclear"),
    ("bateria", "bien", "bornes = firmes within"),
    ("bateria", "tensión doce coma seis voltios", "tension = 12.6 V within"),
    ("bateria", "tensión doce punto seis", "tension = 12.6 V within"),
    ("bateria", "tensión doce y medio", "tension = 12.5 V within"),
    ("bateria", "tensión uno dos coma seis", "tension = 12.6 V within"),
    ("temperatura", "treinta y siete bajo cero", "congelacion = -37 degC within"),
    ("temperatura", "menos tres cinco grados", "congelacion = -35 degC within"),
    ("temperatura", "fecha veintitrés de noviembre de dos mil veintiséis", "mezcla = 2026-11-23 no limit"),
    ("temperatura", "bidón alfa doble cinco barra bravo", "bidon = A55/B no limit"),
    ("helice", "ninguna", "palas = 0 count low"),
    ("helice", "tres palas", "palas = 3 count within"),
    ("arrancar", "repita", "command say again"),
    ("arrancar", "afirmativo", "command affirm"),
    ("arrancar", "dónde estamos", "command where are we"),
    ("arrancar", "vuelva atrás", "command go back"),
    ("arrancar", "imposible", "command unable"),
    ("filtro", "pieza", "part part"),
    ("filtro", "pieza número tango tres guion uno uno cuatro dos", "part part"),
    ("arrancar", "done", "unclear"),
    ("arrancar", "say again", "unclear"),
    ("arrancar", "sí", "unclear"),
]
"""Step, said, meant: from memory and common practice; the refusals are English, or no Spanish."""


@pytest.mark.parametrize(("step", "said", "meant"), SAID_MEANT)
def test_what_is_said_in_spanish_means_that(step: str, said: str, meant: str) -> None:
    """A table of said -> meant, refusals among them."""
    assert meant_text(parse_words(WORK, step, said, TODAY)) == meant


# What a language file must be


def test_spanish_has_all_of_english_and_is_another_language() -> None:
    """Every key, every placeholder; hardly a sentence is the English one."""
    assert set(SPANISH.phrases) == set(ENGLISH.phrases)
    for key, english in ENGLISH.phrases.items():
        assert placeholders(SPANISH.phrases[key]) in (placeholders(english), placeholders(english) - {"detail"})
    same = {key for key, english in ENGLISH.phrases.items() if SPANISH.phrases[key] == english}
    assert all(
        not WORD.sub("", english).strip() or "{" in english for english in map(ENGLISH.phrases.get, same) if english
    )
    assert {key for key in same if re.sub(r"\{.*?\}", "", ENGLISH.phrases[key]).strip(" ,.;:") != ""} == set()


FAULTS = [
    (
        lambda text: text.replace("looking: zulooking.", "lookink: zulooking."),
        "has no key 'lookink'",
        "did you mean 'looking'?",
    ),
    (lambda text: text.replace("  looking: zulooking.\n", ""), "'phrases' needs 'looking'", 'translate "Looking."'),
    (lambda text: text.replace("zulot {lot}.", "zulot {lott}."), "'lot' has no {lott}", "did you mean 'lot'?"),
    (lambda text: text.replace("zulot {lot}.", "zulot."), "'lot' lacks {lot}", 'in English it is "Lot {lot}."'),
    (lambda text: text.replace("zulot {lot}.", "zulot {lot."), "'lot': ", "write {name}"),
    (lambda text: text.replace("zulot {lot}.", "zulot {lot!r}."), "'{lot}' is no placeholder", "write {name}"),
    (
        lambda text: text.replace("    zufive: '5'\n    zufife: '5'\n", ""),
        "nothing says 5 in 'digits'",
        "add 'word: 5'",
    ),
    (lambda text: text.replace("zuforty: '40'", "zuforty: '41'"), "'zuforty' cannot say '41'", "20 to 90"),
    (lambda text: text.replace("    zuforty: '40'\n", ""), "nothing says 40", "'teens'"),
    (lambda text: text.replace("  hundred: zuhundred\n", ""), "nothing says 100", "'hundred'"),
    (lambda text: text.replace("- zujanuary\n", ""), "'months' holds 11 texts, 12 are wanted", "write 12"),
    (
        lambda text: text.replace("  done:\n  - zudone", "  done:\n  - zuunable"),
        "'zuunable' is said for",
        "another word",
    ),
    (lambda text: text.replace("  psi:\n  - zup", "  pssi:\n  - zup"), "has no key 'pssi'", "did you mean 'psi'?"),
    (lambda text: text.replace("voice: en-us\n", ""), "needs the key 'voice'", "add 'voice: ...'"),
]


@pytest.mark.parametrize(("spoil", "what", "do"), FAULTS)
def test_what_is_wrong_in_a_language_file_is_told_with_its_place(
    spoil: Callable[[str], str], what: str, do: str, tmp_path: Path
) -> None:
    """File, line, column, what, and what to do, with suggestions; and all of it at once."""
    spoiled = spoil(language_text())
    assert spoiled != language_text()
    (tmp_path / "zu.yaml").write_text(spoiled, encoding="utf-8")
    with pytest.raises(FileProblems) as found:
        load_language(tmp_path / "zu.yaml")
    told_of = [str(problem) for problem in found.value.problems]
    assert any(what in text and do in text for text in told_of), told_of
    assert all(re.match(rf"{re.escape(str(tmp_path))}/zu\.yaml:\d+:\d+: ", text) for text in told_of)


def test_each_phrase_is_said_somewhere() -> None:
    """No sentence of the table is left over: its key stands in the code, or is put together there."""
    tables = {"english_phrases.py", "english_parts.py"}
    folders = ("core", "devices")
    files = (p for folder in folders for p in (ROOT / "assistant" / folder).rglob("*.py") if p.name not in tables)
    code = "\n".join(path.read_text(encoding="utf-8") for path in files)
    made_up = (r"verdict|answer|limit|quarter|kept as|nothing stands|ask (note|finding|unable)|finished|disk|source|"
               r"the torque|(note|finding) kept|least|usual|most")  # fmt: skip
    left = [key for key in ENGLISH.phrases if f'"{key}"' not in code and not re.match(made_up, key)]
    assert left == []


def test_what_the_disk_says_is_in_the_table() -> None:
    """Each trouble of the disk has its sentence, and what to do, so that it can be said in any language."""
    for trouble in disk_trouble.BY_CODE.values():
        assert {trouble.what, f"{trouble.remedy}, then say it again"} <= set(DEVICES.values())
        assert told(trouble.what, SPANISH) != trouble.what
    assert told("something new", SPANISH) == "something new"


# Where a language comes from


def test_a_site_names_its_language(tmp_path: Path, zulike: Language) -> None:
    """By code, by a file beside it, or not at all; English is what it was."""
    (tmp_path / "site.yaml").write_text(MADE, encoding="utf-8")
    assert read_site("shop: s\ngallon: us_gal\n", "s.yaml").language is ENGLISH
    assert read_site("shop: s\ngallon: us_gal\nlanguage: es\n", "s.yaml").language.code == "es"
    assert read_site(MADE, str(tmp_path / "site.yaml")).language.phrases == zulike.phrases
    assert shipped_languages() == ("en", "es")
    assert find_language("en", tmp_path) is ENGLISH


def test_a_language_that_there_is_not_is_told_with_its_line(tmp_path: Path) -> None:
    """And a fault in the shop's own file with that file's line."""
    with pytest.raises(FileProblems, match=r"s\.yaml:3:11: there is no language 'fr'.*\n?.*en, es"):
        read_site("shop: s\ngallon: us_gal\nlanguage: fr\n", "s.yaml")
    (tmp_path / "zu.yaml").write_text(language_text().replace("zulooking.", "zulooking {x}."), encoding="utf-8")
    with pytest.raises(FileProblems, match=r"zu\.yaml:\d+:\d+: 'looking' has no \{x\}"):
        read_site(MADE, str(tmp_path / "site.yaml"))


def test_a_job_is_taken_up_again_in_the_shops_own_language_when_its_file_is_gone(
    tmp_path: Path, zulike: Language
) -> None:
    """The language file stands in the job; the lines of the site sheet stay where they were."""
    site = tmp_path / "zu.site.yaml"
    site.write_text(MADE, encoding="utf-8")
    work = read_work(*JOB[:2], site)
    assert work.site_text.splitlines()[:3] == ["shop: zu", "gallon: us_gal", "# language: zu.yaml"]
    job_file, state = open_job(tmp_path / "zu.job", work, WallClock(), "text")
    job_file.close()
    (tmp_path / "zu.yaml").unlink()
    job_file, again = resume_job(tmp_path / "zu.job", WallClock(), "text")
    job_file.close()
    assert again.site.language.phrases == state.site.language.phrases == zulike.phrases


# The voice and the ears


def test_the_voice_is_that_of_the_language_unless_the_settings_name_one() -> None:
    """espeak-ng has it: it says Spanish words otherwise than English does."""
    assert voice_settings(Settings()).voice == "en-us"
    assert voice_settings(Settings(), SPANISH).voice == "es"
    assert voice_settings(Settings(voice="es-419"), SPANISH).voice == "es-419"
    phones = [
        subprocess.run(
            ["espeak-ng", "-q", "--ipa", "-v", voice, "--", "nueve"], capture_output=True, text=True, check=True
        )
        for voice in ("es", "en-us")
    ]
    assert phones[0].stdout.strip() == "nw\u02c8e\u03b2e"
    assert phones[1].stdout != phones[0].stdout


def test_ears_that_hear_no_spanish_say_so(tmp_path: Path) -> None:
    """With a Vosk model of that language they hear, and Whisper stays off, and why is told."""
    with pytest.raises(CallProblem, match="no ear that comes with the program hears the language 'es'") as found:
        chosen_ears(Settings(), ROOT / "models", SPANISH)
    assert "vosk_model" in str(found.value)
    chosen = chosen_ears(Settings(vosk_model=str(tmp_path)), ROOT / "models", SPANISH)
    assert (chosen.vosk, chosen.whisper) == (tmp_path, None)
    assert "hears English alone" in chosen.why


def test_a_spanish_job_is_rehearsed_and_asked(capsys: pytest.CaptureFixture[str]) -> None:
    """`layup rehearse` comes to the end by itself, `layup parse` understands, `layup run` refuses without ears."""
    call = [str(JOB[0]), "--machine", str(JOB[1]), "--site", str(JOB[2])]
    assert main(["rehearse", *call]) == 0
    told_text = capsys.readouterr().out
    assert "technician  ciento noventa y cinco" in told_text
    assert "assistant  cilindro uno, uno nueve cinco P S I, dentro de límites." in told_text
    assert main(["parse", str(JOB[0]), "compresion", "cilindro dos ciento noventa", *call[1:]]) == 0
    assert "compresion cylinder 2 = 190 psi [within" in capsys.readouterr().out
    assert main(["run", *call, "--voice", "silent", "--job", "/tmp/never-made.job"]) == 2
    assert "ours are English" in capsys.readouterr().err
