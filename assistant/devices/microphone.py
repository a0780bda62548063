"""The microphone, through PortAudio: blocks of 16 kHz sound with their time, and whether some before them was lost.

PortAudio calls back on a thread of its own, where an exception reaches nobody: the callback copies, queues, returns,
and all else is done by the thread that reads. A microphone that is pulled out simply calls back no more, so the
reader has a heartbeat: no block for `silent_for_s` is DeviceTrouble. A device that does not do 16 kHz is opened at
its own rate and filtered down here.
"""

from __future__ import annotations

import queue
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Protocol, runtime_checkable

import numpy as np

from assistant.core.problems import DeviceTrouble
from assistant.devices.portaudio import as_device, portaudio
from assistant.devices.protocols import RATE_HZ, AudioBlock, Samples
from assistant.devices.resampling import Resampler, to_int16

_BLOCK_S = 0.032
_HELD_S = 30.0  # so much sound waits for a reader that is busy; beyond it the newest is lost, and said to be


@runtime_checkable
class SoundSource(Protocol):
    """Where sound comes from. For one reader."""

    def read(self) -> AudioBlock | None:
        """Wait for the next block; None at the end of recorded sound; DeviceTrouble when the device gives none."""

    def close(self) -> None:
        """Let go of the device."""


@dataclass(frozen=True)
class SoundDevice:
    """A sound device as PortAudio numbers it, with its count of input and output channels."""

    number: int
    name: str
    inputs: int
    outputs: int
    rate_hz: int
    default_input: bool
    default_output: bool


class BlockTiming:
    """Blocks at the device's rate to blocks at 16 kHz, each with the time of its own first sample."""

    def __init__(self, device_hz: int) -> None:
        self._device_hz = device_hz
        self._filter = None if device_hz == RATE_HZ else Resampler(device_hz, RATE_HZ)

    def block(self, samples: Samples, at_s: float, lost: bool) -> AudioBlock:
        """The filter holds back some samples, which then come first in the next block: its time is so much earlier."""
        if self._filter is None:
            return AudioBlock(samples, at_s, lost)
        behind_s = self._filter.taken / self._device_hz - self._filter.given / RATE_HZ
        return AudioBlock(to_int16(self._filter.feed(samples.astype(np.float32))), at_s - behind_s, lost)


class HeldBlocks:
    """Between PortAudio's thread, which puts, and the reader's, which waits. Holds `held` blocks at the most."""

    def __init__(self, where: str, silent_for_s: float, held: int = round(_HELD_S / _BLOCK_S)) -> None:
        self._where, self._silent_for_s = where, silent_for_s
        self._blocks: queue.Queue[AudioBlock] = queue.Queue(maxsize=held)
        self._overrun = False

    def put(self, block: AudioBlock) -> None:
        """Never waits. A block that finds no room is lost, and the next that does says so."""
        if self._overrun:
            block = replace(block, lost=True)
        try:
            self._blocks.put_nowait(block)
            self._overrun = False
        except queue.Full:
            self._overrun = True

    def get(self) -> AudioBlock:
        """The next block; DeviceTrouble when none came for `silent_for_s`."""
        try:
            return self._blocks.get(timeout=self._silent_for_s)
        except queue.Empty:
            raise DeviceTrouble(
                f"the microphone gave no sound for {self._silent_for_s:g} s",
                where=self._where,
                do="plug the headset in again; `layup devices` lists what is there",
            ) from None


class Microphone:
    """`SoundSource` on a sound device: its number or a part of its name, "" the system's default.

    `now_s` is the clock of `AudioBlock.at_s`. DeviceTrouble where there is no such microphone.
    """

    def __init__(
        self, device: str = "", *, now_s: Callable[[], float] = time.monotonic, silent_for_s: float = 2.0
    ) -> None:
        self._now_s = now_s
        audio = portaudio()
        wanted = as_device(device)
        try:
            found = audio.query_devices(wanted, "input")
            rate_hz = _rate_hz(audio, wanted, int(found["default_samplerate"]))
            self.name = str(found["name"])
            self._timing = BlockTiming(rate_hz)
            self._held = HeldBlocks(self.name, silent_for_s)
            self._stream = audio.InputStream(
                samplerate=rate_hz,
                blocksize=round(_BLOCK_S * rate_hz),
                device=wanted,
                channels=1,
                dtype="int16",
                callback=self._on_block,
            )
            self._stream.start()
        except (audio.PortAudioError, ValueError) as error:
            raise DeviceTrouble(
                f"there is no microphone that can be used ({error})",
                where=f"sound device {device!r}" if device else "default sound device",
                do="plug in the headset and look at `layup devices`, or give recordings with --ears WAV...",
            ) from error

    def read(self) -> AudioBlock:
        """The next block; DeviceTrouble when none came for `silent_for_s`."""
        block = self._held.get()
        return self._timing.block(block.samples, block.at_s, block.lost)

    def close(self) -> None:
        """Let go of the device."""
        self._stream.close(ignore_errors=True)

    def _on_block(self, indata: Samples, frames: int, timing: Any, status: Any) -> None:  # noqa: ARG002
        """PortAudio's thread: `indata` (frames, 1) is its own memory and only lent."""
        known = timing.inputBufferAdcTime > 0  # some host systems leave it at 0
        age_s = timing.currentTime - timing.inputBufferAdcTime if known else _BLOCK_S
        self._held.put(AudioBlock(indata[:, 0].copy(), self._now_s() - age_s, bool(status.input_overflow)))


def list_sound_devices() -> tuple[SoundDevice, ...]:
    """All sound devices, none where there is no sound card; DeviceTrouble where PortAudio is not installed."""
    audio = portaudio()
    default_in, default_out = audio.default.device
    return tuple(
        SoundDevice(
            number=number,
            name=str(device["name"]),
            inputs=int(device["max_input_channels"]),
            outputs=int(device["max_output_channels"]),
            rate_hz=int(device["default_samplerate"]),
            default_input=number == default_in,
            default_output=number == default_out,
        )
        for number, device in enumerate(audio.query_devices())
    )


def _rate_hz(audio: Any, device: int | str | None, own_hz: int) -> int:
    try:
        audio.check_input_settings(device=device, channels=1, dtype="int16", samplerate=RATE_HZ)
    except audio.PortAudioError:
        return own_hz
    return RATE_HZ
