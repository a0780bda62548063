"""Clips keep exactly what was heard and seen."""

from __future__ import annotations

import subprocess

import numpy as np
import pytest
from hypothesis import given
from job_samples import PNG, any_samples, tone

from assistant.files.clips import Samples, picture_clip, samples_of, sound_clip


@given(any_samples())
def test_a_sound_comes_back_sample_for_sample(samples: Samples) -> None:
    """Decoding gives the identical samples, loudest and quietest included."""
    assert np.array_equal(samples_of(sound_clip(samples).data), samples)


def test_the_extremes_come_back() -> None:
    """Full scale both ways survives."""
    samples = np.array([-32768, 32767] * 3000, dtype=np.int16)
    assert np.array_equal(samples_of(sound_clip(samples).data), samples)


def test_the_same_sound_has_the_same_name() -> None:
    """A clip's bytes depend on its samples only."""
    assert sound_clip(tone()) == sound_clip(tone())


def test_a_clip_is_named_by_sha256sum() -> None:
    """The name of a clip is what the sha256sum command says of its bytes."""
    clip = sound_clip(tone())
    said = subprocess.run(["sha256sum"], input=clip.data, capture_output=True, check=True).stdout.split()[0]
    assert said.decode() == clip.sha256


@pytest.mark.parametrize(
    "samples", [tone().astype(np.int32), tone().astype(np.float32), tone().reshape(2, -1), tone()[:0]]
)
def test_sound_of_another_form_is_refused(samples: Samples) -> None:
    """Only int16 of one channel is sound here; nothing is converted in silence."""
    with pytest.raises(ValueError, match="int16"):
        sound_clip(samples)


@pytest.mark.parametrize(("data", "media_type"), [(PNG, "image/png"), (b"\xff\xd8\xff\xe0rest", "image/jpeg")])
def test_pictures_are_kept_as_they_come(data: bytes, media_type: str) -> None:
    """PNG and JPEG are told by their first bytes and kept unchanged."""
    clip = picture_clip(data)
    assert (clip.data, clip.media_type, clip.samples) == (data, media_type, 0)


@pytest.mark.parametrize("data", [b"", b"GIF89a....", b"<svg/>"])
def test_other_pictures_are_refused(data: bytes) -> None:
    """Nothing but PNG and JPEG is kept as a picture."""
    with pytest.raises(ValueError, match="PNG or JPEG"):
        picture_clip(data)


@pytest.mark.parametrize("data", [b"", PNG, b"fLaC" + bytes(60)])
def test_what_is_no_sound_is_refused(data: bytes) -> None:
    """Bytes that are no FLAC are refused with a plain ValueError."""
    with pytest.raises(ValueError, match="clip"):
        samples_of(data)
