"""The streaming ear: any Vosk model folder that can be held to a grammar while it runs.

Vosk makes a bigram of the phrases it is given, so it can string them together in ways that the step does not allow:
what it answers is passed through the step's own automaton once more. Its scores are likelihoods without a common zero;
they tell how candidates of one take compare, not how well any of them fits, so `fits` stays None. What it can tell: by
how much the best legal string lies below the best of all it heard (`loose_gap`), and whether that best one was outside
the grammar (`unknown`).
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Collection
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from assistant.core.events import Take
from assistant.core.problems import ModelProblem
from assistant.core.speech.automaton import Automaton
from assistant.devices.audibility import audible
from assistant.devices.protocols import RATE_HZ, Samples, Utterance
from assistant.devices.recognisers.candidates import candidates_of, log_sum

Words = tuple[str, ...]
UNKNOWN = "[unk]"
"""How Vosk writes a word outside its grammar."""
ALTERNATIVES = 10
ANCHORS = 2
"""Strings of its own that an ear hears again beside those of the other, so that the scores of both hearings compare."""
NEEDED = ("graph/HCLr.fst", "graph/Gr.fst")
"""Without these a Vosk model has one fixed grammar and cannot be held to a step's."""
TRY_OUT = """
import sys, vosk
vosk.SetLogLevel(-1)
native = vosk.KaldiRecognizer(vosk.Model(sys.argv[1]), int(sys.argv[2]), sys.argv[3])
native.AcceptWaveform(bytes(2 * int(sys.argv[2])))
native.FinalResult()
"""
BLOCK_SAMPLES = RATE_HZ // 10
HISS = np.rint(np.random.default_rng(0).standard_normal(RATE_HZ)).astype(np.int16)
"""One step of 16 bit, added to all that is heard, a second of it over and over: digital silence has no spectrum. Kaldi adds as
much by itself, never the same twice; our own model's options turn that off, so that the same sound is heard the same again.
Other models mostly leave it on."""


class VoskEar:
    """A `StreamingRecogniser`. `unknown_words` are words of the grammar that the model cannot hear."""

    name = "vosk"

    def __init__(self, folder: Path) -> None:
        """Load the model in `folder`; ModelProblem where it cannot be used."""
        self._model = _load(folder)
        self.unknown_words: tuple[str, ...] = ()
        self._can_hear = lru_cache(maxsize=64)(self._phrases_of)
        self._grammar: Automaton | None = None
        self._sound: list[Samples] = []
        self._audible = 0.0
        self._heard: dict[Words, float] = {}
        self.listen_for(Automaton({0: {}}, {}))

    def listen_for(self, grammar: Automaton) -> None:
        """From now on only what the grammar allows is heard; 2 ms for a thousand phrases."""
        if grammar is self._grammar:
            return
        phrases, self.unknown_words = self._can_hear(grammar)
        self._native = _recogniser(self._model, phrases)
        self._grammar = grammar

    def _phrases_of(self, grammar: Automaton) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The phrases that show the grammar to Vosk, and the words of it that the model does not know."""
        unknown = tuple(sorted(w for w in grammar.vocabulary if not self._knows(w)))
        return tuple(" ".join(phrase) for phrase in grammar.without(unknown).phrases), unknown

    def hear(self, utterance: Utterance) -> Take:
        """The whole utterance at once."""
        self.begin()
        for at in range(0, len(utterance.samples), BLOCK_SAMPLES):
            self._accept(utterance.samples[at : at + BLOCK_SAMPLES])
        return self.finish()

    def begin(self) -> None:
        """A new utterance starts."""
        self._sound = []
        self._native.Reset()

    def feed(self, samples: Samples) -> tuple[str, ...]:
        """More of it; the words so far, `[unk]` for each outside the grammar."""
        self._accept(samples)
        return tuple(json.loads(self._native.PartialResult())["partial"].split())

    def _accept(self, samples: Samples) -> None:
        # True means that Vosk thinks the utterance over; the endpointer decides that, and Vosk just goes on
        at = sum(map(len, self._sound))
        hiss = HISS.take(range(at, at + len(samples)), mode="wrap")
        heard = np.clip(samples.astype(np.int32) + hiss, -(2**15), 2**15 - 1).astype(np.int16)
        self._native.AcceptWaveform(heard.tobytes())
        self._sound.append(heard)

    def finish(self) -> Take:
        """It ended: what was said."""
        self._heard = _final(self._native)
        self._audible = audible(np.concatenate(self._sound)) if self._sound else 0.0
        return self._take()

    def compare(self, strings: Collection[Words]) -> Take:
        """Hears the sound once more, held to these strings and the best that it heard itself.

        Both hearings score the same sound by the same model, but the second has fewer words to choose from: by how much that
        lifts its scores shows in the strings that both have.
        """
        known = [s for s in strings if s not in self._heard and self._allows(s) and all(map(self._knows, s))]
        if not known:
            return self._take()
        own = self._anchors()
        again = _recogniser(self._model, tuple(" ".join(s) for s in (*known, *own)))
        for samples in self._sound:
            again.AcceptWaveform(samples.tobytes())
        found = _final(again)
        shifts = [self._heard[s] - found[s] for s in own if s in found]
        if shifts:
            self._heard |= {s: found[s] + max(shifts) for s in known if s in found}
        return self._take()

    def _anchors(self) -> list[Words]:
        """The best strings of its own, legal ones where there are any."""
        legal = [s for s in self._heard if self._allows(s)]
        return sorted(legal or self._heard, key=lambda s: -self._heard[s])[:ANCHORS]

    def _take(self) -> Take:
        heard = self._heard
        legal = {words: logp for words, logp in heard.items() if self._allows(words)}
        if not legal:
            return Take(self.name, (), unknown=bool(heard))
        gap = max(legal.values()) - max(heard.values())
        return Take(self.name, candidates_of(legal), loose_gap=gap, unknown=gap < 0, audible=self._audible)

    def _allows(self, words: tuple[str, ...]) -> bool:
        return self._grammar is not None and self._grammar.accepts(words)

    def _knows(self, word: str) -> bool:
        return int(self._model.vosk_model_find_word(word)) >= 0


def _recogniser(model: Any, phrases: tuple[str, ...]) -> Any:
    import vosk

    native = vosk.KaldiRecognizer(model, RATE_HZ, json.dumps([*phrases, UNKNOWN]))
    native.SetMaxAlternatives(ALTERNATIVES)
    return native


def _final(native: Any) -> dict[Words, float]:
    """All strings that it found, legal or not, with their log-likelihoods; one found in several ways counts once."""
    heard: dict[Words, list[float]] = {}
    for found in json.loads(native.FinalResult())["alternatives"]:
        heard.setdefault(tuple(found["text"].split()), []).append(float(found["confidence"]))
    return {words: log_sum(logs) for words, logs in heard.items() if words}


def _load(folder: Path) -> Any:
    import vosk

    if not folder.is_dir():
        raise _problem(folder, "no such model folder")
    missing = [name for name in NEEDED if not (folder / name).is_file()]
    if missing:
        raise _problem(folder, f"not a Vosk model that can be held to a grammar: {', '.join(missing)} missing")
    _try_out(folder)
    vosk.SetLogLevel(-1)
    model = vosk.Model(str(folder))
    if model.vosk_model_find_word(UNKNOWN) < 0:
        raise _problem(folder, f"this model has no word {UNKNOWN}, so it cannot tell what is outside a grammar")
    return model


def _try_out(folder: Path) -> None:
    """Let another process load it and hear a second of silence, 0.2 s: a broken file can end the process it is in."""
    call = [sys.executable, "-c", TRY_OUT, str(folder), str(RATE_HZ), json.dumps([UNKNOWN])]
    ended = subprocess.run(call, capture_output=True, text=True, errors="replace", check=False)
    complaints = [line for line in ended.stderr.splitlines() if line.startswith(("ERROR", "ASSERT", "WARNING"))]
    if ended.returncode or complaints:
        said = complaints[0].rpartition(") ")[2] if complaints else "it ended at once"
        raise _problem(folder, f"Vosk cannot use this model, a file in it is broken: {said}")


def _problem(where: Path, what: str) -> ModelProblem:
    return ModelProblem(
        what, where=str(where), do="name another Vosk model folder in the settings, or restore this one."
    )
