"""Where learnt voices are kept: nothing kept is lost, none is used that does not fit, and wrong names are told."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.bench.enrolling import is_better
from assistant.bench.hearing import Ears
from assistant.bench.learnt_voice import names_for_record, tell_voices, with_voice
from assistant.core.problems import CallProblem, ModelProblem
from assistant.devices.recognisers.choosing import EarsChosen
from assistant.devices.recognisers.scripted import ScriptedEar
from assistant.files.voices import (
    ABOUT,
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
    for name in ("am/final.mdl", "conf/mfcc.conf", "graph/words.txt", "graph/phones/word_boundary.int", "README.md"):
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
    assert with_voice(chosen, "", tmp_path / "voices") == chosen
    assert with_voice(chosen, "Kim", tmp_path / "none") == chosen


@pytest.mark.parametrize("other", ["Ines", "kim"])
def test_another_name_is_told_whose_voices_there_are(other: str, tmp_path: Path, base: Path) -> None:
    """A name that nobody's voice has, or written otherwise, is heard as any other, and it is said which names there are."""
    keep(tmp_path / "voices", "Kim", base)
    keep(tmp_path / "voices", "Ann", base)
    found = with_voice(EarsChosen(base, None, "vosk: hears."), other, tmp_path / "voices")
    assert found.vosk == base
    assert f"none was learnt of {other}" in found.why
    assert "there are: Ann, Kim" in found.why


def test_a_folder_under_another_name_is_not_used(tmp_path: Path, base: Path) -> None:
    """A voice that was copied to another name is nobody's but its owner's."""
    folder = keep(tmp_path / "voices", "Kim", base)
    shutil.copytree(folder.parent, tmp_path / "voices" / "Bob")
    found = with_voice(EarsChosen(base, None, "vosk: hears."), "Bob", tmp_path / "voices")
    assert found.vosk == base
    assert "a copy of the voice of Kim" in found.why
    assert [v.state for v in list_voices(tmp_path / "voices", base)] == ["damaged", "usable"]


def test_the_record_and_the_call_tell_which_model_hears(tmp_path: Path, base: Path) -> None:
    """Name and first 8 of the SHA-256 of its model stand with the ears' names; that no number was fitted for it is said."""
    keep(tmp_path / "voices", "Kim", base)
    voice = find_voice(tmp_path / "voices", "Kim", base)
    assert voice is not None
    ears = Ears(ScriptedEar([]))
    plain = EarsChosen(base, None, "vosk: hears.")
    found = with_voice(plain, "Kim", tmp_path / "voices")
    assert names_for_record(ears, found) == f"{ears.names}, voice Kim {voice.sha256[:8]}"
    assert names_for_record(ears, plain) == ears.names
    assert "fitted for bench-en and not for this voice" in found.why
    keep(tmp_path / "voices", "Kim", base, "other")
    assert with_voice(plain, "Kim", tmp_path / "voices").voice != found.voice


def test_a_voice_of_another_model_is_not_used(tmp_path: Path, base: Path) -> None:
    """When the base model has changed since, the base is used, and it is said why and what to do."""
    keep(tmp_path / "voices", "Kim", base)
    (base / "graph" / "words.txt").write_text("more words")
    found = with_voice(EarsChosen(base, None, "vosk: hears."), "Kim", tmp_path / "voices")
    assert found.vosk == base
    assert "another model than there is now" in found.why
    assert "enrol again" in found.why
    assert "another model" in next(tell_voices(found, tmp_path / "voices"))


@pytest.mark.parametrize(
    ("file", "said"),
    [
        ("am/final.mdl", "is damaged"),
        ("graph/words.txt", "is damaged"),
        ("conf/mfcc.conf", "is damaged"),
        ("graph/more.txt", "is damaged"),
        ("../voice.json", "cannot be read"),
    ],
)
def test_a_damaged_voice_is_not_used(file: str, said: str, tmp_path: Path, base: Path) -> None:
    """A file of it that was changed by others leaves the base in use, and it is said which."""
    folder = keep(tmp_path / "voices", "Kim", base)
    (folder / file).write_text("hello")
    found = with_voice(EarsChosen(base, None, "vosk: hears."), "Kim", tmp_path / "voices")
    assert found.vosk == base
    assert said in found.why
    assert said in next(tell_voices(found, tmp_path / "voices"))


def test_swapped_numbers_are_noticed(tmp_path: Path, base: Path) -> None:
    """With two words of graph/words.txt swapped, another value would be heard: such a voice is not used."""
    (base / "graph" / "words.txt").write_text("seven 1\neight 2\n")
    folder = keep(tmp_path / "voices", "Kim", base)
    (folder / "graph" / "words.txt").write_text("seven 2\neight 1\n")
    found = with_voice(EarsChosen(base, None, "vosk: hears."), "Kim", tmp_path / "voices")
    assert found.vosk == base
    assert "a file of its model is damaged" in found.why


NOTES = ["", "{", "[]", "null", "7", "{}", '{"model": 1}', "\x00"]


def spoilt(note: dict[str, object]) -> list[str]:
    """The note with each field missing, and with each of a wrong type."""
    lacking = [{k: v for k, v in note.items() if k != key} for key in note]
    wrong = [{**note, key: value} for key in note for value in ([], {}, None, "x")]
    return [json.dumps(table) for table in (*lacking, *wrong)]


def test_a_broken_note_hides_no_other_voice_and_can_be_replaced(tmp_path: Path, base: Path) -> None:
    """Whatever stands in it, that voice alone is damaged or not used, and keeping it anew mends it."""
    root = tmp_path / "voices"
    keep(root, "Ines", base)
    keep(root, "Kim", base)
    whole = json.loads((root / "Kim" / ABOUT).read_text())
    for text in (*NOTES, *spoilt(whole)):
        (root / "Kim" / ABOUT).write_text(text)
        ines, kim = list_voices(root, base)
        assert ines.state == "usable", text
        if kim.state == "usable":  # only what is text for a person is taken as it is
            assert {k: v for k, v in json.loads(text).items() if v != whole[k]}.keys() <= {"base", "learnt"}, text
        assert len(list(tell_voices(EarsChosen(base, None, ""), root))) == 2
    (root / "Kim" / ABOUT).write_text("{")
    told = list(tell_voices(EarsChosen(base, None, ""), root))
    assert "voice Ines: learnt" in told[0]
    assert "voice Kim: damaged" in told[1]
    keep(root, "Kim", base, "mended")
    assert [v.state for v in list_voices(root, base)] == ["usable", "usable"]


CUTS = """
import os, shutil, sys
from pathlib import Path
from assistant.files.voices import CHANGED, Learnt, Tally, find_voice, keep_voice

os.fsync = lambda _: None  # a process that ends loses nothing that it wrote; the disk's time is saved
base, root, how = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3]
about = Learnt("Kim", "bench-en", "2026-11-25", -22.5, -51.0, Tally(1, 1, 1, 1, 0.0), Tally(1, 1, 1, 0, 0.0))

def keep(text):
    keep_voice(root, about, base, lambda path: path.write_text(text) and None)

def cut_at(moment):
    seen = 0
    def hook(event, _):
        nonlocal seen
        if event.startswith(("os.", "open", "shutil.", "tempfile.")):
            seen += 1
            if seen == moment:
                if how == "power":
                    os._exit(9)
                raise KeyboardInterrupt
    sys.addaudithook(hook)
    try:
        keep("new")
    except KeyboardInterrupt:
        os._exit(9)
    os._exit(0)

keep("old")
status, moment, found = 9, 0, []
while status:
    moment += 1
    if not (child := os.fork()):
        cut_at(moment)
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    voice = find_voice(root, "Kim", base)
    assert voice is not None and voice.state == "usable", (moment, voice)
    found.append((voice.folder / CHANGED).read_text())
    keep("old")
    assert len(list((root / "Kim").iterdir())) == 2, moment
print(moment, *dict.fromkeys(found))
"""


@pytest.mark.parametrize("how", ["power", "ctrl-c"])
def test_whenever_it_is_cut_the_old_or_the_new_is_found(how: str, tmp_path: Path, base: Path) -> None:
    """Cut before each of its calls to the system in turn, the voice is usable: the old one, from one call on the new one."""
    call = [sys.executable, "-c", CUTS, str(base), str(tmp_path / "voices"), how]
    ended = subprocess.run(call, capture_output=True, text=True, check=False)
    assert ended.returncode == 0, ended.stderr
    moments, *found = ended.stdout.split()
    assert int(moments) > 30
    assert found == ["old", "new"]


@pytest.mark.parametrize("fault", [KeyboardInterrupt, OSError])
def test_an_interrupted_keeping_loses_nothing(fault: type[BaseException], tmp_path: Path, base: Path) -> None:
    """Ctrl-C, or a full disk, while a new one is written leaves the old one, and nothing beside it."""
    keep(tmp_path / "voices", "Kim", base, "old")

    def write(_: Path) -> None:
        raise fault

    with pytest.raises((KeyboardInterrupt, ModelProblem)):
        keep_voice(tmp_path / "voices", about("Kim"), base, write)
    voice = find_voice(tmp_path / "voices", "Kim", base)
    assert voice is not None
    assert (voice.folder / CHANGED).read_text() == "old"
    assert {p.name for p in (tmp_path / "voices" / "Kim").iterdir()} == {ABOUT, voice.folder.name}
    with pytest.raises((KeyboardInterrupt, ModelProblem)):
        keep_voice(tmp_path / "voices", about("Ines"), base, write)
    assert [p.name for p in (tmp_path / "voices").iterdir()] == ["Kim"]


def test_a_new_one_takes_the_place_of_the_old(tmp_path: Path, base: Path) -> None:
    """Learnt again, the newer one is there alone; forgotten, none is, and the others stay."""
    root = tmp_path / "voices"
    keep(root, "Kim", base, "old")
    keep(root, "Ines", base)
    folder = keep(root, "Kim", base, "new")
    assert (folder / CHANGED).read_text() == "new"
    assert {p.name for p in (root / "Kim").iterdir()} == {ABOUT, folder.name}
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
