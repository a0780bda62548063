"""A voice learnt from recordings, by the command itself: kept only where it is better; and wrong calls are told."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from assistant.bench.enrolling import enrol, levels_dbfs
from assistant.bench.repeating_prompts import Live
from assistant.cli import main
from assistant.core.enrolment import HALVES, PROMPTS
from assistant.core.problems import CallProblem, DeviceTrouble
from assistant.devices.endpointing import Endpointer
from assistant.devices.protocols import AudioBlock, Samples
from assistant.devices.sound_file import read_sound, write_sound
from assistant.files.model_store import shipped_models
from assistant.files.voices import CHANGED, find_voice
from assistant.measure.synthetic_voices import is_there, synthesise

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
    """A channel that has lost its lows: first difference with 0.9, three times louder."""
    sound = samples.astype(np.float64)
    return np.clip(3 * np.append(sound[:1], sound[1:] - 0.9 * sound[:-1]), -32768, 32767).astype(np.int16)


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
    (["Kim", "--ears", "a.wav"], "only 0 prompts"),
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
    """`--prompts` prints them a line each, for whoever records them."""
    assert main(["enrol", "Kim", "--prompts"]) == 0
    assert capsys.readouterr().out.splitlines() == list(PROMPTS)
