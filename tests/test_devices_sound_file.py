"""Sound files in every form a shop may have, written with the standard library where it can; and as a microphone."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.core.problems import CallProblem
from assistant.devices.microphone import SoundSource
from assistant.devices.protocols import RATE_HZ
from assistant.devices.sound_file import SoundFileMicrophone, read_sound, write_sound


def wav(path: Path, samples: np.ndarray, rate_hz: int, channels: int = 1) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes(samples.astype("<i2").tobytes())
    return path


def test_a_16_khz_file_is_read_bit_for_bit(tmp_path: Path) -> None:
    """Every value of 16 bit comes back as it is."""
    every = np.arange(-32_768, 32_768, dtype=np.int16)
    assert np.array_equal(read_sound(wav(tmp_path / "a.wav", every, RATE_HZ)), every)


@pytest.mark.parametrize(("rate_hz", "channels"), [(8000, 1), (22_050, 1), (44_100, 2), (48_000, 2)])
def test_any_rate_and_channels_become_mono_16_khz(tmp_path: Path, rate_hz: int, channels: int) -> None:
    """A tone comes out as that tone at 16 kHz, whatever it was recorded at."""
    tone = 8000 * np.sin(2 * np.pi * 500 * np.arange(rate_hz) / rate_hz)
    made = read_sound(wav(tmp_path / "a.wav", np.repeat(tone, channels), rate_hz, channels))
    wanted = 8000 * np.sin(2 * np.pi * 500 * np.arange(RATE_HZ) / RATE_HZ)
    assert len(made) == RATE_HZ
    assert np.abs(made - wanted)[200:-200].max() < 3


def test_24_bit_flac_is_read(tmp_path: Path) -> None:
    """FLAC of more than 16 bit is rounded."""
    soundfile.write(tmp_path / "a.flac", np.full(1000, 0.25), RATE_HZ, subtype="PCM_24")
    assert set(read_sound(tmp_path / "a.flac")) == {8192}


@pytest.mark.parametrize("suffix", [".wav", ".flac"])
def test_what_is_written_is_read(tmp_path: Path, suffix: str) -> None:
    """Both kinds of file are without loss."""
    noise = np.random.default_rng(2).integers(-32_768, 32_768, 5000).astype(np.int16)
    write_sound(tmp_path / f"a{suffix}", noise)
    assert np.array_equal(read_sound(tmp_path / f"a{suffix}"), noise)


@pytest.mark.parametrize(
    ("name", "content", "word"),
    [
        ("missing.wav", None, "no such sound file"),
        ("nothing.wav", b"", "no sound file that can be read"),
        ("words.wav", b"this is text\n" * 50, "no sound file that can be read"),
        ("cut.flac", b"fLaC\0\0", "no sound file that can be read"),
        (".", None, "no such sound file"),
    ],
)
def test_what_is_no_sound_is_a_wrong_call(tmp_path: Path, name: str, content: bytes | None, word: str) -> None:
    """The problem names the file and says what to do."""
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(CallProblem, match=word) as raised:
        read_sound(path)
    assert raised.value.where == str(path)
    assert raised.value.do


def test_a_file_without_samples_is_a_wrong_call(tmp_path: Path) -> None:
    """A header alone is empty."""
    with pytest.raises(CallProblem, match="empty"):
        read_sound(wav(tmp_path / "a.wav", np.zeros(0), RATE_HZ))


def test_files_as_a_microphone(tmp_path: Path) -> None:
    """Each file with 0.8 s of quiet after it, times by samples without a gap, then None."""
    first = wav(tmp_path / "1.wav", np.full(1000, 7), RATE_HZ)
    second = wav(tmp_path / "2.wav", np.full(700, 9), RATE_HZ)
    source = SoundFileMicrophone([first, second], from_s=20.0)
    assert isinstance(source, SoundSource)
    blocks = list(iter(source.read, None))
    sound = np.concatenate([block.samples for block in blocks])
    assert len(sound) == 1000 + 12_800 + 700 + 12_800
    assert (set(sound[:1000]), set(sound[1000:13_800]), set(sound[13_800:14_500])) == ({7}, {0}, {9})
    ends = [block.at_s + len(block.samples) / RATE_HZ for block in blocks]
    assert blocks[0].at_s == 20.0
    assert [block.at_s for block in blocks[1:]] == pytest.approx(ends[:-1])
    assert source.read() is None


def test_a_paced_file_comes_no_sooner_than_a_microphone(tmp_path: Path) -> None:
    """Paced, each block is given when its last sample has sounded, on the clock that is passed in."""
    clock = [100.0]
    source = SoundFileMicrophone(
        [wav(tmp_path / "1.wav", np.full(16_000, 7), RATE_HZ)],
        quiet_s=0.0,
        paced=True,
        now_s=lambda: clock[0],
        wait_s=lambda seconds: clock.__setitem__(0, clock[0] + seconds),
    )
    for block in iter(source.read, None):
        assert clock[0] == pytest.approx(block.at_s + len(block.samples) / RATE_HZ)
    assert clock[0] == pytest.approx(101.0)


def test_a_closed_file_microphone_is_at_its_end(tmp_path: Path) -> None:
    """After close no more blocks come; a missing file is known before the first is heard."""
    source = SoundFileMicrophone([wav(tmp_path / "1.wav", np.full(9000, 7), RATE_HZ)])
    source.close()
    assert source.read() is None
    with pytest.raises(CallProblem):
        SoundFileMicrophone([tmp_path / "missing.wav"])
