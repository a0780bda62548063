"""The microphone: what reads it without one, and PortAudio itself on a sound card made of ALSA's own plugins."""

from __future__ import annotations

import ctypes.util
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from assistant.core.problems import DeviceTrouble
from assistant.devices.microphone import BlockTiming, HeldBlocks
from assistant.devices.protocols import RATE_HZ, AudioBlock

PROGRAM = """
from assistant.core.problems import DeviceTrouble
from assistant.devices.microphone import Microphone, SoundSource, list_sound_devices
print([(device.name, device.default_input) for device in list_sound_devices() if device.default_input])
try:
    microphone = Microphone()
except DeviceTrouble as trouble:
    print(trouble)
else:
    blocks = [microphone.read() for _ in range(3)]
    microphone.close()
    print(isinstance(microphone, SoundSource), [int(block.samples[0]) for block in blocks], len(blocks[0].samples))
"""
CARD = """
pcm.!default {{ type plug slave {{ pcm "recorded" rate 16000 channels 1 format S16_LE }} }}
pcm.recorded {{ type file slave.pcm "nothing" file "/dev/null" infile "{recording}" format "raw" }}
pcm.nothing {{ type null }}
"""
needs_portaudio = pytest.mark.skipif(
    not (sys.platform == "linux" and ctypes.util.find_library("portaudio") and ctypes.util.find_library("asound")),
    reason="needs Linux with libportaudio2 for a sound card of ALSA's own plugins",
)


def with_card(folder: Path, configuration: str) -> list[str]:
    (folder / "asound.conf").write_text(configuration)
    environment = {**os.environ, "ALSA_CONFIG_PATH": str(folder / "asound.conf")}
    return subprocess.check_output([sys.executable, "-c", PROGRAM], env=environment, text=True, timeout=30).splitlines()


def block(number: int, lost: bool = False) -> AudioBlock:
    return AudioBlock(np.full(4, number, np.int16), float(number), lost)


@needs_portaudio
def test_a_microphone_gives_what_the_card_hears(tmp_path: Path) -> None:
    """Blocks of 512 samples, in order, from the first sample on; the card is listed as the default."""
    recording = tmp_path / "recording.raw"
    np.arange(30_000, dtype="<i2").tofile(recording)
    devices, heard = with_card(tmp_path, CARD.format(recording=recording))
    assert devices == "[('default', True)]"
    assert heard == "True [0, 512, 1024] 512"


@needs_portaudio
def test_no_microphone_is_trouble(tmp_path: Path) -> None:
    """Without a sound card nothing is listed, and a microphone says what is missing and what to do."""
    devices, what, do = with_card(tmp_path, "pcm.gone { type hw card 7 }\n")
    assert devices == "[]"
    assert "no microphone" in what
    assert "layup devices" in do


def test_no_block_in_time_is_trouble() -> None:
    """A microphone that gives nothing is known by its silence."""
    with pytest.raises(DeviceTrouble, match=r"no sound for 0\.01 s"):
        HeldBlocks("headset", silent_for_s=0.01).get()


def test_a_reader_too_slow_is_told_what_it_missed() -> None:
    """The block that finds no room is lost; the next that does says that sound before it is missing."""
    held = HeldBlocks("headset", silent_for_s=1.0, held=2)
    for number in (1, 2, 3):
        held.put(block(number))
    first = held.get()
    held.put(block(4))
    held.get()
    held.put(block(5))
    fourth, fifth = held.get(), held.get()
    assert (first.lost, fourth.at_s, fourth.lost, fifth.at_s, fifth.lost) == (False, 4.0, True, 5.0, False)


def test_lost_sound_stays_lost() -> None:
    """PortAudio's word that its buffer overflowed is carried with the block."""
    held = HeldBlocks("headset", silent_for_s=1.0)
    held.put(block(1, lost=True))
    assert held.get().lost


def test_blocks_at_another_rate_keep_their_time() -> None:
    """A click at 48 kHz is found at the same time in the blocks at 16 kHz, to within one sample."""
    sound = np.zeros(48_000, np.int16)
    sound[30_000] = 20_000
    timing = BlockTiming(48_000)
    blocks = [timing.block(sound[at : at + 1536], 50.0 + at / 48_000, False) for at in range(0, 48_000, 1536)]
    loudest = max(blocks, key=lambda one: np.abs(one.samples).max(initial=0))
    assert loudest.at_s + int(np.abs(loudest.samples).argmax()) / RATE_HZ == pytest.approx(50.625, abs=1 / RATE_HZ)
    ends = [one.at_s + len(one.samples) / RATE_HZ for one in blocks]
    assert [one.at_s for one in blocks[1:]] == pytest.approx(ends[:-1])


def test_blocks_at_16_khz_are_left_alone() -> None:
    """Nothing is done to what needs nothing."""
    samples = np.arange(512, dtype=np.int16)
    made = BlockTiming(RATE_HZ).block(samples, 3.0, True)
    assert made.samples is samples
    assert (made.at_s, made.lost) == (3.0, True)
