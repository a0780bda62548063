"""The weighing ear: Whisper, held to what may be said now.

CTranslate2 encodes the sound; the decoder of our own then searches through the step's grammar, so that every candidate
has a probability that means something. Beside it runs a loose loop of number words: where that fits better, something
else was said ("one five two one seven" at a step of three digits is heard as "one five two"; only the loop sees it).

To the weights of tiny.en a lesson of our own is added (`models/bench-lesson`): numbers as words, in noise, in short windows.
Free words for notes are heard with the weights as they came; so are readings by another Whisper, that has no lesson.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Sequence
from functools import partial
from pathlib import Path
from typing import Any, cast

import numpy as np

from assistant.core.events import Take
from assistant.core.problems import ModelProblem
from assistant.core.speech.automaton import Automaton, either, word
from assistant.core.speech.compiling import compile_grammar
from assistant.devices.audibility import audible
from assistant.devices.protocols import RATE_HZ, Samples, Utterance
from assistant.devices.recognisers.candidates import candidates_of
from assistant.devices.recognisers.held_search import Beam, Ending, Floats, Pieces, SpelledGrammar, Words, search
from assistant.devices.recognisers.log_mel import log_mel
from assistant.devices.recognisers.whisper_decoder import Past, Sound, WhisperDecoder
from assistant.devices.recognisers.whisper_manner import NUMBER_WORDS, TAUGHT, UNTAUGHT, Manner, as_written
from assistant.devices.recognisers.whisper_weights import read_model

UNTAUGHT_NAME = "whisper untaught"
MARGIN_S = 0.25
WIDTH, DROP = 8, 5.0  # a candidate further below the best has less than 0.7 % of its probability
LOOSE_WIDTH, LOOSE_MOST_WORDS = 4, 10
# Whisper's own rule for silence (Radford et al. 2022, section 4.5): no speech likelier than this, and the words unsure.
NO_SPEECH = 0.6
UNSURE_LOGP = -1.0
DICTATED_PIECES = 100
_NOTHING = Automaton({0: {}}, {})


class WhisperEar:
    """A `Recogniser` and `Dictation` over one folder of a Whisper model in CTranslate2's form (English only)."""

    def __init__(self, folder: Path, lesson: Path | None = None, threads: int = 0) -> None:
        """Load `folder`, and add the lesson to its weights; None for a Whisper that was taught nothing.

        `threads` 0 means one a core, at most four. ModelProblem where a file cannot be used.
        """
        _one_thread()
        threads = threads or min(4, os.cpu_count() or 1)
        self.name, self._manner = ("whisper", TAUGHT) if lesson else (UNTAUGHT_NAME, UNTAUGHT)
        self._tokenizer = _load_tokenizer(folder)
        model = read_model(folder / "model.bin")
        if lesson:
            model.learn(lesson)
        self._native = _load(folder, threads, model.data.tobytes() if lesson else None)
        self._load_untaught: Callable[[], Any] = partial(_load, folder, threads)
        self._decoder = WhisperDecoder(model.weights)
        self._untaught = None if lesson else self._native
        self._pieces: dict[str, Pieces] = {}
        self._begin = list(self._special("<|startoftranscript|>", "<|notimestamps|>"))
        self._before = self._special("<|startofprev|>")
        (end,) = self._special("<|endoftext|>")
        self._ending = Ending(self._encode(".")[0], end)
        self._sound: Floats | None = None
        self._heard: dict[Words, float] = {}
        self._loose_best = -np.inf
        self._audible = 0.0
        self._listen_for(_NOTHING)

    def listen_for(self, grammar: Automaton) -> None:
        """From now on only what the grammar allows is heard."""
        if grammar is not self._held.grammar:
            self._listen_for(grammar)

    def _listen_for(self, grammar: Automaton) -> None:
        shown = self._manner.prompt(grammar)
        self._prompt = [*self._before, *self._encode(shown), *self._begin] if shown else self._begin
        self._held = self._spelled(grammar)
        self._loose = self._spelled(loose_loop(grammar.vocabulary | NUMBER_WORDS))

    def hear(self, utterance: Utterance) -> Take:
        """The strings of the grammar, best first; none where the utterance is longer than Whisper's window."""
        encoded = self._encoded(utterance.samples)
        self._sound = None if encoded is None else np.array(encoded)[0]
        self._heard, self._loose_best = {}, -np.inf
        self._audible = audible(utterance.samples)
        if self._sound is not None:
            held, loose = Beam(self._held, WIDTH, DROP), Beam(self._loose, LOOSE_WIDTH, DROP)
            search(_Telling(self._decoder, self._sound, self._prompt), held, loose)
            self._heard = {words: logp for words, logp in held.done.items() if logp > held.best - DROP}
            self._loose_best = loose.best
        return self._take()

    def compare(self, strings: Collection[Words]) -> Take:
        """The probabilities of these strings beside those of its own search; the sound is not encoded again."""
        wanted = [s for s in strings if s not in self._heard and self._held.grammar.accepts(s)]
        if wanted and self._sound is not None:
            only = self._spelled(compile_grammar(either(*(word(" ".join(s)) for s in wanted))))
            held = Beam(only, 2 * len(wanted), np.inf)
            search(_Telling(self._decoder, self._sound, self._prompt), held, Beam(self._spelled(_NOTHING), 1, DROP))
            self._heard |= held.done
        return self._take()

    def _take(self) -> Take:
        candidates = candidates_of(self._heard)
        if not candidates:
            return Take(self.name, ())
        best = candidates[0]
        fits, gap = best.logp / (len(best.words) + 1), min(0.0, best.logp - self._loose_best)
        return Take(self.name, candidates, fits=fits, loose_gap=gap, audible=self._audible)

    def dictate(self, utterance: Utterance) -> str:
        """Free words as Whisper writes them, "" where there is no speech; with the weights as they came.

        Those are loaded for the first note. Where they can't be any more there are no words: the sound is kept all the same.
        """
        try:
            self._untaught = self._untaught or self._load_untaught()
        except ModelProblem:
            return ""
        encoded = _encode(self._untaught, UNTAUGHT, utterance.samples)
        if encoded is None:
            return ""
        (found,) = self._untaught.generate(
            encoded,
            [self._begin],
            beam_size=5,
            max_length=2 * DICTATED_PIECES,
            return_scores=True,
            return_no_speech_prob=True,
        )
        if found.no_speech_prob > NO_SPEECH and found.scores[0] < UNSURE_LOGP:
            return ""
        return str(self._tokenizer.decode(found.sequences_ids[0])).strip()

    def _encoded(self, samples: Samples) -> Any | None:
        return _encode(self._native, self._manner, samples)

    def _spelled(self, grammar: Automaton) -> SpelledGrammar:
        return SpelledGrammar(grammar, self._spell, self._ending)

    def _spell(self, text: str) -> Pieces:
        if text not in self._pieces:
            self._pieces[text] = self._encode(f" {as_written(text)}")
        return self._pieces[text]

    def _encode(self, text: str) -> Pieces:
        return tuple(self._tokenizer.encode(text, add_special_tokens=False).ids)

    def _special(self, *names: str) -> Pieces:
        return tuple(cast(int, self._tokenizer.token_to_id(name)) for name in names)


class _Telling:
    """What the decoder tells of one utterance (a `Teller`): it keeps what was said so far for each row."""

    def __init__(self, decoder: WhisperDecoder, encoded: Floats, prompt: Sequence[int]) -> None:
        self._decoder = decoder
        self._sounds: list[Sound] = decoder.look(encoded.astype(np.float32))
        self._prompt = prompt
        self._pasts: list[Past] = []
        self._at = 0

    def first(self) -> Floats:
        return self._tell(np.array([self._prompt]), None)

    def after(self, rows: Sequence[int], pieces: Sequence[int]) -> Floats:
        index = np.array(rows)
        return self._tell(np.array(pieces)[:, None], [past.of(index) for past in self._pasts])

    def _tell(self, tokens: np.typing.NDArray[np.int64], pasts: list[Past] | None) -> Floats:
        states, self._pasts = self._decoder.forward(tokens, self._sounds, pasts, self._at)
        self._at += tokens.shape[1]
        return self._decoder.log_probabilities(states[:, -1])


def _encode(native: Any, manner: Manner, samples: Samples) -> Any | None:
    """CTranslate2's array of the encoded sound, on the CPU; None where it fits no window."""
    import ctranslate2

    margin = np.zeros(int(MARGIN_S * RATE_HZ), np.int16)
    padded = np.concatenate([margin, samples, margin])
    window_s = manner.window_s(len(padded) / RATE_HZ)
    if window_s is None:
        return None
    mel = np.ascontiguousarray(log_mel(padded, window_s)[None])
    return native.encode(ctranslate2.StorageView.from_array(mel), to_cpu=True)


def loose_loop(vocabulary: Iterable[str]) -> Automaton:
    """One to ten words in any order: what else might have been said."""
    words = tuple(vocabulary)
    onward = {n: dict.fromkeys(words, (((), n + 1),)) for n in range(LOOSE_MOST_WORDS)}
    return Automaton({**onward, LOOSE_MOST_WORDS: {}}, dict.fromkeys(range(1, LOOSE_MOST_WORDS + 1), ((),)))


def _one_thread() -> None:
    """NumPy's matrix products on one thread, for the whole program.

    The decoder's products are small: on an idle machine two threads save a third of the time, but where anything else
    runs they wait for each other (0.6 s against 3 to 6 s an utterance, measured with three busy processes on two cores).
    """
    import threadpoolctl

    threadpoolctl.threadpool_limits(1, user_api="blas")


def _load(folder: Path, threads: int, taught: bytes | None = None) -> Any:
    """The encoder and CTranslate2's decoder, of the folder's weights or of `taught`, all of a `model.bin`."""
    import ctranslate2

    try:
        files = None
        if taught is not None:
            files = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} | {
                "model.bin": taught
            }
        return ctranslate2.models.Whisper(
            str(folder), device="cpu", compute_type="int8", intra_threads=threads, files=files
        )
    except Exception as fault:
        raise _unusable(folder, fault) from fault


def _load_tokenizer(folder: Path) -> Any:
    """The word pieces."""
    import tokenizers

    try:
        return tokenizers.Tokenizer.from_file(str(folder / "tokenizer.json"))
    except Exception as fault:  # tokenizers raises a bare Exception
        raise _unusable(folder, fault) from fault


def _unusable(folder: Path, fault: Exception) -> ModelProblem:
    return ModelProblem(
        f"Whisper cannot be loaded: {str(fault).splitlines()[0]}",
        where=str(folder),
        do="fetch it again with `layup models get whisper-tiny-en`.",
    )
