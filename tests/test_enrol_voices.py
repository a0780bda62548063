"""Where learnt voices are kept: nothing kept is lost, none is used that does not fit, and wrong names are told."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from assistant.bench.enrolling import is_better
from assistant.bench.learnt_voice import tell_voices, with_voice
from assistant.core.problems import CallProblem, ModelProblem
from assistant.devices.recognisers.choosing import EarsChosen
from assistant.files.voices import (
    CHANGED,
    Learnt,
    Tally,
    checked_name,
    find_voice,
    forget_voice,
    keep_voice,
    list_voices,
    voices_root,
)

BEFORE, AFTER = Tally(47, 36, 106, 13, -0.24), Tally(47, 46, 106, 1, -0.03)


def about(name: str) -> Learnt:
    return Learnt(name, "bench-en", "2026-11-25", -22.5, -51.0, BEFORE, AFTER)


@pytest.fixture
def base(tmp_path: Path) -> Path:
    """A folder with the parts of a Vosk model, and a page that is not one of them."""
    folder = tmp_path / "bench-en"
    for name in ("am/final.mdl", "conf/mfcc.conf", "graph/phones/word_boundary.int", "README.md"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(name, encoding="utf-8")
    return folder


def keep(root: Path, name: str, base: Path, text: str = "changed") -> Path:
    return keep_voice(root, about(name), base, lambda path: path.write_text(text) and None)


def test_a_voice_is_kept_and_found(tmp_path: Path, base: Path) -> None:
    """The copy has the changed part and the rest of the model, and is found with what was noted."""
    folder = keep(tmp_path / "voices", "Ines Ohm", base)
    assert (folder / CHANGED).read_text() == "changed"
    assert (folder / "graph/phones/word_boundary.int").is_file()
    assert not (folder / "README.md").exists()
    voice = find_voice(tmp_path / "voices", " Ines  Ohm ", base)
    assert voice is not None
    assert (voice.state, voice.about) == ("usable", about("Ines Ohm"))
    assert [v.about.name for v in list_voices(tmp_path / "voices", base)] == ["Ines Ohm"]


def test_the_ears_take_the_voice_of_who_works(tmp_path: Path, base: Path) -> None:
    """Only the named technician's model is used, and it is said which."""
    folder = keep(tmp_path / "voices", "Kim", base)
    chosen = EarsChosen(base, None, "vosk: hears.")
    assert with_voice(chosen, "Kim", tmp_path / "voices").vosk == folder
    assert "as learnt of Kim on 2026-11-25" in with_voice(chosen, "Kim", tmp_path / "voices").why
    for other in ("", "Ines"):
        assert with_voice(chosen, other, tmp_path / "voices") == chosen


def test_a_voice_of_another_model_is_not_used(tmp_path: Path, base: Path) -> None:
    """When the base model has changed since, the base is used, and it is said why and what to do."""
    keep(tmp_path / "voices", "Kim", base)
    (base / "graph" / "words.txt").write_text("more words")
    found = with_voice(EarsChosen(base, None, "vosk: hears."), "Kim", tmp_path / "voices")
    assert found.vosk == base
    assert "another model than there is now" in found.why
    assert "enrol again" in found.why
    assert "another model" in next(tell_voices(found, tmp_path / "voices"))


@pytest.mark.parametrize(("file", "said"), [("am/final.mdl", "is damaged"), ("voice.json", "cannot be read")])
def test_a_damaged_voice_is_not_used(file: str, said: str, tmp_path: Path, base: Path) -> None:
    """A file of it that was changed by others leaves the base in use, and it is said which."""
    folder = keep(tmp_path / "voices", "Kim", base)
    (folder / file).write_text("hello")
    found = with_voice(EarsChosen(base, None, "vosk: hears."), "Kim", tmp_path / "voices")
    assert found.vosk == base
    assert said in found.why
    assert said in next(tell_voices(found, tmp_path / "voices"))


@pytest.mark.parametrize("fault", [KeyboardInterrupt, OSError])
def test_an_interrupted_keeping_loses_nothing(fault: type[BaseException], tmp_path: Path, base: Path) -> None:
    """Ctrl-C, or a full disk, while a new one is written leaves the old one, and nothing beside it."""
    keep(tmp_path / "voices", "Kim", base, "old")

    def write(_: Path) -> None:
        raise fault

    with pytest.raises((KeyboardInterrupt, ModelProblem)):
        keep_voice(tmp_path / "voices", about("Kim"), base, write)
    assert (tmp_path / "voices" / "Kim" / CHANGED).read_text() == "old"
    assert [p.name for p in (tmp_path / "voices").iterdir()] == ["Kim"]


def test_a_new_one_takes_the_place_of_the_old(tmp_path: Path, base: Path) -> None:
    """Learnt again, the newer one is there alone; forgotten, none is, and the others stay."""
    root = tmp_path / "voices"
    keep(root, "Kim", base, "old")
    keep(root, "Ines", base)
    keep(root, "Kim", base, "new")
    assert (root / "Kim" / CHANGED).read_text() == "new"
    forget_voice(root, "Kim")
    assert [p.name for p in root.iterdir()] == ["Ines"]
    with pytest.raises(CallProblem, match="no voice of Kim") as found:
        forget_voice(root, "Kim")
    assert "Ines" in found.value.do


@pytest.mark.parametrize("name", ["", "  ", "a/b", "..", ".hidden", "a\\b", "a\x00b", "x" * 61])
def test_a_name_that_is_no_folders_is_told(name: str) -> None:
    """A name that would leave the folder of voices, or hide in it, is refused."""
    with pytest.raises(CallProblem, match="cannot be the name of a voice"):
        checked_name(name)


def test_the_folder_is_the_users_data_folder() -> None:
    """XDG_DATA_HOME, else ~/.local/share (XDG Base Directory Specification)."""
    assert voices_root({"XDG_DATA_HOME": "/d"}) == Path("/d/layup/voices")
    assert voices_root({}) == Path.home() / ".local" / "share" / "layup" / "voices"


@pytest.mark.parametrize(
    ("after", "surely", "kept"),
    [
        (Tally(47, 40, 106, 8, -0.1), 1.2, True),  # fewer words wrong, and likelier
        (Tally(47, 40, 106, 8, -0.1), 0.5, False),  # fewer words wrong, but likelier by chance
        (Tally(47, 36, 106, 13, -0.1), 2.5, True),  # as many, and surely likelier
        (Tally(47, 36, 106, 13, -0.1), 1.5, False),  # as many, and likelier by chance
        (Tally(47, 36, 106, 13, -0.3), 2.5, False),  # no likelier
        (Tally(47, 36, 106, 13, -0.2399), 9.0, False),  # likelier by what rounding gives
        (Tally(47, 35, 106, 12, -0.1), 9.0, False),  # fewer prompts right
        (Tally(47, 37, 106, 14, -0.1), 9.0, False),  # more words wrong
        (BEFORE, 0.0, False),
    ],
)
def test_what_is_better(after: Tally, surely: float, kept: bool) -> None:
    """Only what takes nothing away, and gains words or more than chance, is kept."""
    assert is_better(BEFORE, after, surely) is kept


def test_a_voice_is_a_whole_copy(tmp_path: Path, base: Path) -> None:
    """The base may go, and the files of the voice are still there."""
    folder = keep(tmp_path / "voices", "Kim", base)
    shutil.rmtree(base)
    assert (folder / "conf" / "mfcc.conf").read_text() == "conf/mfcc.conf"
