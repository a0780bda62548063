"""The decoder of our own against CTranslate2's, on the same encoded sound."""

import numpy as np
import pytest

from assistant.devices.recognisers.choosing import choose_ears
from assistant.devices.recognisers.log_mel import log_mel
from assistant.devices.recognisers.whisper_decoder import WhisperDecoder
from assistant.devices.recognisers.whisper_weights import read_model
from assistant.files.model_store import models_root

BEGIN, NO_TIMES = 50257, 50362  # tiny.en's <|startoftranscript|> and <|notimestamps|>
SAID = [530, 734, 1115]  # " one two three"


@pytest.mark.speech
def test_it_tells_what_ctranslate2_tells() -> None:
    """With the weights at full width both give the same log-probabilities, at once or piece by piece."""
    folder = choose_ears(models_root()).whisper
    if folder is None:
        pytest.skip("whisper-tiny-en is not fetched: `layup models get whisper-tiny-en`")
    import ctranslate2

    native = ctranslate2.models.Whisper(str(folder), device="cpu", compute_type="float32", intra_threads=2)
    noise = np.random.default_rng(5).normal(0, 800, 40_000).astype(np.int16)
    encoded = native.encode(ctranslate2.StorageView.from_array(log_mel(noise, 10)[None]), to_cpu=True)
    tokens = [BEGIN, NO_TIMES, *SAID]
    (told,) = native.generate(
        encoded,
        [tokens],
        beam_size=1,
        max_length=2 * len(tokens),
        return_logits_vocab=True,
        suppress_blank=False,
        suppress_tokens=[],
    )
    # CTranslate2 tells what follows each position from <|notimestamps|> on
    logits = np.array([np.array(row).reshape(-1) for row in told.logits[0][: len(SAID) + 1]], np.float64)
    expected = logits - np.logaddexp.reduce(logits, axis=1)[:, None]

    decoder = WhisperDecoder(read_model(folder / "model.bin").weights)
    sounds = decoder.look(np.array(encoded)[0])
    at_once, _ = decoder.forward(np.array([tokens]), sounds, None, 0)
    np.testing.assert_allclose(decoder.log_probabilities(at_once[0, 1:]), expected, atol=0.02)
    states, pasts = decoder.forward(np.array([tokens[:2]] * 2), sounds, None, 0)
    for i, piece in enumerate(SAID):
        np.testing.assert_allclose(decoder.log_probabilities(states[:, -1])[1], expected[i], atol=0.02)
        states, pasts = decoder.forward(np.array([[piece]] * 2), sounds, pasts, 2 + i)
