"""A voice learnt from recordings, by the command itself: kept only where it is better; and wrong calls are told."""

from __future__ import annotations

import csv
import shutil
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from assistant.bench.enrolling import enrol, levels_dbfs
from assistant.bench.enrolling_session import STOPPED, enrol_from
from assistant.bench.repeating_prompts import Live
from assistant.cli import main
from assistant.core.enrolment import HALVES, PROMPTS
from assistant.core.problems import CallProblem, DeviceTrouble, ModelProblem
from assistant.devices.endpointing import Endpointer
from assistant.devices.protocols import AudioBlock, Samples
from assistant.devices.sound_file import read_sound, write_sound
from assistant.files.model_store import shipped_models
from assistant.files.voices import ABOUT, CHANGED, find_voice
from assistant.measure.synthetic_voices import is_there, synthesise
from assistant.settings import Settings

BASE = shipped_models() / "bench-en"
VOICE = "espeak-ng en-gb-x-rp+Michael"
CLEAR_VOICE = "espeak-ng en-us+f5"
"""Two of the tuning voices of `assistant/measure/speakers.toml`: the model hears the first less well."""
TAKEN = 24
"""Prompts of each half: half of the list, for time."""

needs_voices = pytest.mark.skipif(
    not (is_there(VOICE) and is_there(CLEAR_VOICE)), reason="espeak-ng or its variants are not on this machine"
)


def tilted(samples: Samples) -> Samples:
    """A channel that has lost its lows, more than any of the training: twice a first difference with 0.95, louder."""
    sound = samples.astype(np.float64)
    for _ in range(2):
        sound = 2 * np.append(sound[:1], sound[1:] - 0.95 * sound[:-1])
    return np.clip(sound, -32768, 32767).astype(np.int16)


def folder_of(folder: Path, voice: str, channel: Callable[[Samples], Samples]) -> Path:
    """Recordings of half the prompts in that voice over that channel, with their manifest."""
    prompts = (*HALVES[0][:TAKEN], *HALVES[1][:TAKEN])
    for number, prompt in enumerate(prompts):
        path = folder / f"{number}.wav"
        synthesise(voice, prompt, path)
        write_sound(path, channel(read_sound(path)))
    with (folder / "manifest.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([("path", "words"), *((f"{n}.wav", p) for n, p in enumerate(prompts))])
    return folder


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """This user's data folder, an empty one."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path / "data" / "layup" / "voices"


@needs_voices
@pytest.mark.speech
def test_a_voice_is_kept_where_it_is_better_and_not_where_it_is_no_better(
    tmp_path: Path, data: Path, capsys: pytest.CaptureFixture[str], tell: Callable[[str], None]
) -> None:
    """Over a tilted channel fewer words are wrong: kept; learnt again from the same it is no better: left; then forgotten."""
    folder = folder_of(tmp_path, VOICE, tilted)
    assert main(["enrol", "Kim", "--ears", str(folder)]) == 0
    said = capsys.readouterr().out
    assert "better, so it is kept" in said
    voice = find_voice(data, "Kim", BASE)
    assert voice is not None
    before, after = voice.about.before, voice.about.after
    tell(f"enrol, tilted channel: {before.wrong} words wrong before, {after.wrong} after, of {after.words}")
    assert after.wrong < before.wrong
    assert after.right > before.right
    assert after.score > before.score
    assert voice.about.noise_dbfs < voice.about.speech_dbfs < 0
    assert (voice.folder / CHANGED).stat().st_size == (BASE / CHANGED).stat().st_size
    kept = (voice.folder / CHANGED).read_bytes()
    assert main(["enrol", "Kim", "--ears", str(folder)]) == 1  # no better than what was learnt from the same recordings
    assert "so nothing was changed" in capsys.readouterr().out
    assert (voice.folder / CHANGED).read_bytes() == kept
    assert main(["models"]) == 0
    assert "voice Kim: learnt" in capsys.readouterr().out
    assert main(["enrol", "Kim", "--forget"]) == 0
    assert find_voice(data, "Kim", BASE) is None


@needs_voices
@pytest.mark.speech
def test_what_is_plainly_something_else_is_left_out(
    tmp_path: Path, data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Recordings in the wrong order, silence, and unknown words are left out one by one, until too little is left."""
    wrong = ("three thousand four hundred", "cylinder nine three eighty", "one hundred and sixty nine")
    paths = []
    for number, words in enumerate(wrong):
        paths.append(tmp_path / f"{number}.wav")
        synthesise(CLEAR_VOICE, words, paths[-1])
    silence = tmp_path / "silence.wav"
    write_sound(silence, np.zeros(16_000, np.int16))
    assert main(["enrol", "Kim", "--ears", *map(str, [*paths, silence])]) == 2
    streams = capsys.readouterr()
    assert streams.out.count("that was something else") == 3
    assert streams.out.count("no speech came") == 1
    assert "nothing was changed" in streams.err
    assert not data.exists()


class _Stops:
    """The technician presses Ctrl-C at the third prompt."""

    can_ask_again = True

    def __init__(self) -> None:
        self._left = 2

    def hear(self, prompt: str, said: str) -> Samples | None:
        if not self._left:
            raise KeyboardInterrupt
        self._left -= 1
        return None


def test_ctrl_c_changes_nothing(tmp_path: Path) -> None:
    """Interrupted while prompts are heard, nothing is written."""
    with pytest.raises(KeyboardInterrupt):
        enrol("Kim", PROMPTS, _Stops(), BASE, None, tmp_path / "voices", "2026-11-25", lambda _: None)
    assert not (tmp_path / "voices").exists()


def test_a_prompt_is_asked_again_twice_and_then_left_out(tmp_path: Path) -> None:
    """Where no speech comes the prompt is said three times in all, the later ones with *again*."""
    asked: list[str] = []

    class Silent:
        can_ask_again = True

        def hear(self, prompt: str, said: str) -> Samples | None:
            asked.append(said)
            return None

    with pytest.raises(CallProblem, match="nothing was changed"):
        enrol("Kim", ["one two", "stop"], Silent(), BASE, None, tmp_path, "2026-11-25", lambda _: None)
    assert asked == ["one two.", *["Again: one two."] * 2, "stop.", *["Again: stop."] * 2]
    with pytest.raises(DeviceTrouble, match="3 prompts in a row"):
        enrol("Kim", PROMPTS, Silent(), BASE, None, tmp_path, "2026-11-25", lambda _: None)


def test_unknown_words_are_told_before_anything_is_said_and_do_not_count_as_missed(tmp_path: Path) -> None:
    """Prompts with words that the model lacks are left out unheard; their recordings are passed over."""
    asked: list[str] = []
    skipped: list[str] = []
    lines: list[str] = []

    class Silent:
        can_ask_again = True

        def hear(self, prompt: str, said: str) -> Samples | None:
            asked.append(prompt)
            return None

        def skip(self) -> None:
            skipped.append(lines[-1])

    with pytest.raises(CallProblem, match="only 0 prompts"):
        enrol("Kim", ["one two", *["qwx one"] * 6, "stop"], Silent(), BASE, None, tmp_path, "2026-11-25", lines.append)
    assert asked == ["one two"] * 3 + ["stop"] * 3
    assert skipped == ["  left out: the model does not know qwx"] * 6
    assert "8 of 8: stop" in lines  # numbered through both halves


def test_a_recording_of_unknown_words_is_passed_over(
    tmp_path: Path, data: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The recordings that follow are still heard for their own prompts."""
    for n, level in enumerate((0, 9000)):
        write_sound(tmp_path / f"{n}.wav", np.full(1600, level, np.int16))
    (tmp_path / "manifest.csv").write_text("path,words\n0.wav,qwx\n1.wav,one\n", encoding="utf-8")
    assert main(["enrol", "Kim", "--ears", str(tmp_path)]) == 2
    out = capsys.readouterr().out
    assert out.index("1 of 2: qwx") < out.index("does not know qwx") < out.index("2 of 2: one")
    assert not data.exists()


def test_without_room_to_try_it_in_nobody_is_asked_to_speak(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A temporary folder that cannot be written is told before the first prompt."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "none"))
    stops = _Stops()
    with pytest.raises(ModelProblem, match="nothing was changed") as found:
        enrol("Kim", PROMPTS, stops, BASE, None, tmp_path, "2026-11-25", lambda _: None)
    assert found.value.where == "temporary folder"
    assert stops._left == 2


def test_ctrl_c_before_the_prompts_changes_nothing(tmp_path: Path) -> None:
    """Interrupted before the first prompt, it says what it says later too."""
    (tmp_path / "Kim").mkdir()
    (tmp_path / "Kim" / ABOUT).write_text("{")  # told first of all
    told: list[str] = []

    def line(text: str) -> None:
        told.append(text)
        if len(told) == 1:
            raise KeyboardInterrupt

    models = shipped_models()
    assert enrol_from("Kim", ["one"], [], Settings(), models, tmp_path, "silent", line) == STOPPED
    assert "voice Kim: damaged" in told[0]
    assert told[1:] == ["stopped; nothing was changed"]


class _Source:
    """A microphone that gives blocks of a sound, again and again; speech is what is loud."""

    def __init__(self, sound: Samples) -> None:
        self._sound, self._at = sound, 0

    def read(self) -> AudioBlock | None:
        block = self._sound[self._at : self._at + 512]
        self._at += 512
        return AudioBlock(block, self._at / 16_000) if len(block) else None

    def close(self) -> None:
        """Nothing to let go of."""


class _Says:
    """A loudspeaker that is done at once."""

    def __init__(self) -> None:
        self.said: list[str] = []

    def say(self, number: int, text: str, done: Callable[[int], None]) -> None:
        self.said.append(text)
        done(number)

    def hush(self) -> None: ...

    def close(self) -> None: ...


class _Loud:
    """Speech is what is loud."""

    def __call__(self, chunk: Samples) -> float:
        return float(np.abs(chunk).max() > 1000)

    def reset(self) -> None: ...


def test_at_the_microphone_the_utterance_is_heard_after_the_prompt() -> None:
    """The prompt is said, then what the endpointer cuts out of the stream is heard; quiet alone is nothing."""
    sound = np.concatenate((np.zeros(8192), np.full(8192, 5000), np.zeros(16384 + 200_000))).astype(np.int16)
    speaker, source = _Says(), _Source(sound)
    live = Live(speaker, source, Endpointer(_Loud()))
    heard = live.hear("one", "one.")
    assert heard is not None
    assert 8192 <= len(heard) <= 8192 + 2 * 5120
    assert int(heard.max()) == 5000
    assert live.hear("one", "Again: one.") is None
    assert speaker.said == ["one.", "Again: one."]


def test_a_noise_that_does_not_end_is_no_repetition() -> None:
    """A minute of steady noise is not what a technician repeats, and it is not waited for either."""
    source = _Source(np.full(60 * 16_000, 5000, np.int16))
    assert Live(_Says(), source, Endpointer(_Loud())).hear("one", "one.") is None
    assert source._at < 21 * 16_000


def test_where_the_sound_ends_nothing_is_waited_for() -> None:
    """A microphone that gives no more while a prompt is being said ends the prompt."""

    class NeverDone(_Says):
        def say(self, number: int, text: str, done: Callable[[int], None]) -> None: ...

    assert Live(NeverDone(), _Source(np.zeros(1000, np.int16)), Endpointer(_Loud())).hear("one", "one.") is None


def test_levels_are_those_of_the_sound() -> None:
    """A full-scale square wave is 0 dBFS; one of a thousandth is 60 dB lower (by definition)."""
    loud = np.tile([32767, -32767], 8000).astype(np.int16)
    quiet = np.tile([33, -33], 8000).astype(np.int16)
    speech, noise = levels_dbfs([loud, quiet])
    assert speech == pytest.approx(0.0, abs=0.1)
    assert noise == pytest.approx(-60.0, abs=0.2)


BAD: list[tuple[list[str], str]] = [
    (["Kim", "--ears", "none.wav"], "there is no such sound file"),
    (["a/b", "--ears", "a.wav"], "cannot be the name of a voice"),
    (["Kim", "--ears", "."], "there is no manifest.csv"),
    (["Kim", "--ears", "two"], "2 people speak"),
    (["Kim", "--ears", *["a.wav"] * (len(PROMPTS) + 1)], "recordings for 94 prompts"),
    (["Kim", "--ears", "a.wav"], "only 0 prompts with 0 words"),
    (["Kim", "--ears", "a.wav", "a.wav"], "each of the 94 prompts"),
    (["Kim", "--ears", "two", "a.wav"], "two is a folder, and a folder stands alone"),
    (["Kim", "--ears", "mic", "a.wav"], "mic stands alone"),
    (["Kim", "--ears", "bob"], "Bob speaks in these recordings"),
    (["--ears", "a.wav"], "whose voice it is was not said"),
    (["--forget"], "whose voice it is was not said"),
    (["Kim", "--forget"], "no voice of Kim was learnt"),
    (["Kim", "--ears", "mic", "--voice", "loud"], "invalid choice"),
]


@pytest.mark.parametrize(("call", "said"), BAD, ids=[said for _, said in BAD])
def test_a_wrong_call_is_told(
    call: Sequence[str],
    said: str,
    tmp_path: Path,
    data: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Each ends with status 2 and says what is wrong; nothing is written."""
    monkeypatch.chdir(tmp_path)
    write_sound(tmp_path / "a.wav", np.zeros(8000, np.int16))
    (tmp_path / "two").mkdir()
    shutil.copy(tmp_path / "a.wav", tmp_path / "two")
    (tmp_path / "two" / "manifest.csv").write_text("path,words,speaker\na.wav,one,x\na.wav,two,y\n", encoding="utf-8")
    (tmp_path / "bob").mkdir()
    shutil.copy(tmp_path / "a.wav", tmp_path / "bob")
    (tmp_path / "bob" / "manifest.csv").write_text("path,words,speaker\na.wav,one,Bob\n", encoding="utf-8")
    try:
        status = main(["enrol", *call])
    except SystemExit as ended:
        status = int(ended.code or 0)
    error = capsys.readouterr().err
    assert status == 2
    assert said in error
    assert "Traceback" not in error
    assert not data.exists()


def test_the_prompts_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    """`--prompts` prints them a line each, for whoever records them; nobody need be named."""
    for name in ([], ["Kim"]):
        assert main(["enrol", *name, "--prompts"]) == 0
        assert capsys.readouterr().out.splitlines() == list(PROMPTS)
