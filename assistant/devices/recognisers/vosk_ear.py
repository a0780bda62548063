"""The streaming ear: any Vosk model folder that can be held to a grammar while it runs.

Vosk makes a bigram of the phrases it is given, so it can string them together in ways that the step does not allow:
what it answers is passed through the step's own automaton once more. Its scores are likelihoods without a common zero;
they tell how candidates of one take compare, not how well any of them fits, so `fits` stays None. What it can tell: by
how much the best legal string lies below the best of all it heard (`loose_gap`), and whether that best one was outside
the grammar (`unknown`).
"""

from __future__ import annotations

import json
import os
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from assistant.core.events import Take
from assistant.core.problems import ModelProblem
from assistant.core.speech.automaton import Automaton
from assistant.devices.protocols import RATE_HZ, Samples, Utterance
from assistant.devices.recognisers.candidates import candidates_of, log_sum

UNKNOWN = "[unk]"
"""How Vosk writes a word outside its grammar."""
ALTERNATIVES = 10
NEEDED = ("am/final.mdl", "conf/mfcc.conf", "conf/model.conf", "graph/HCLr.fst", "graph/Gr.fst")
"""Without the last two a Vosk model has one fixed grammar and cannot be held to a step's."""
FST_MAGIC = 2125659606  # OpenFst, fst/fst.h: kFstMagicNumber
BLOCK_SAMPLES = RATE_HZ // 10


class VoskEar:
    """A `StreamingRecogniser`. `unknown_words` are words of the grammar that the model cannot hear."""

    name = "vosk"

    def __init__(self, folder: Path) -> None:
        """Load the model in `folder`; ModelProblem where it cannot be used."""
        self._model = _load(folder)
        self.unknown_words: tuple[str, ...] = ()
        self._grammar: Automaton | None = None
        self.listen_for(Automaton(({},), {}))

    def listen_for(self, grammar: Automaton) -> None:
        """From now on only what the grammar allows is heard; 2 ms for a thousand phrases."""
        if grammar is self._grammar:
            return
        unknown = tuple(sorted(w for w in grammar.vocabulary if not self._knows(w)))
        known = [" ".join(phrase) for phrase in grammar.phrases if not set(unknown).intersection(phrase)]
        self._native = _recogniser(self._model, tuple(dict.fromkeys(known)))
        self._grammar, self.unknown_words = grammar, unknown

    def hear(self, utterance: Utterance) -> Take:
        """The whole utterance at once."""
        self.begin()
        for at in range(0, len(utterance.samples), BLOCK_SAMPLES):
            self._native.AcceptWaveform(utterance.samples[at : at + BLOCK_SAMPLES].tobytes())
        return self.finish()

    def begin(self) -> None:
        """A new utterance starts."""
        self._native.Reset()

    def feed(self, samples: Samples) -> tuple[str, ...]:
        """More of it; the words so far, `[unk]` for each outside the grammar."""
        # True means that Vosk thinks the utterance over; the endpointer decides that, and Vosk just goes on
        self._native.AcceptWaveform(samples.tobytes())
        return tuple(json.loads(self._native.PartialResult())["partial"].split())

    def finish(self) -> Take:
        """It ended: what was said."""
        heard: dict[tuple[str, ...], list[float]] = {}
        for found in json.loads(self._native.FinalResult())["alternatives"]:
            heard.setdefault(tuple(found["text"].split()), []).append(float(found["confidence"]))
        return self._take({words: log_sum(logs) for words, logs in heard.items() if words})

    def _take(self, heard: dict[tuple[str, ...], float]) -> Take:
        legal = {words: logp for words, logp in heard.items() if self._allows(words)}
        if not legal:
            return Take(self.name, (), unknown=bool(heard))
        gap = max(legal.values()) - max(heard.values())
        return Take(self.name, candidates_of(legal), loose_gap=gap, unknown=gap < 0)

    def _allows(self, words: tuple[str, ...]) -> bool:
        return self._grammar is not None and self._grammar.accepts(words)

    def _knows(self, word: str) -> bool:
        return int(self._model.vosk_model_find_word(word)) >= 0


def _recogniser(model: Any, phrases: tuple[str, ...]) -> Any:
    import vosk

    native = vosk.KaldiRecognizer(model, RATE_HZ, json.dumps([*phrases, UNKNOWN]))
    native.SetMaxAlternatives(ALTERNATIVES)
    return native


def _load(folder: Path) -> Any:
    import vosk

    _check(folder)
    vosk.SetLogLevel(-1)
    try:
        with _silenced():
            model = vosk.Model(str(folder))
    except Exception as fault:  # vosk raises a bare Exception, whatever was wrong
        raise _problem(folder, "Vosk cannot load this model: a file in it is broken") from fault
    if model.vosk_model_find_word(UNKNOWN) < 0:
        raise _problem(folder, f"this model has no word {UNKNOWN}, so it cannot tell what is outside a grammar")
    return model


def _check(folder: Path) -> None:
    """Find by reading what would end the whole process inside Vosk."""
    if not folder.is_dir():
        raise _problem(folder, "no such model folder")
    missing = [name for name in NEEDED if not (folder / name).is_file() or not (folder / name).stat().st_size]
    if missing:
        raise _problem(folder, f"not a Vosk model that can be held to a grammar: {', '.join(missing)} missing or empty")
    for name in NEEDED:
        if name.endswith(".fst") and not _fst_is_whole((folder / name).read_bytes()):
            raise _problem(folder / name, "this graph is cut short or not one")


def _fst_is_whole(data: bytes, at: int = 0) -> bool:
    """Is an OpenFst graph as long as its header says (fst/fst.h: FstHeader; a state of 20 bytes, an arc of 16)."""
    try:
        magic = struct.unpack_from("<i", data, at)[0]
        kind, at = _text(data, at + 4)
        _, at = _text(data, at)
        *_, states, arcs = struct.unpack_from("<iiQqqq", data, at)
    except struct.error:
        return False
    at += struct.calcsize("<iiQqqq")
    if magic == FST_MAGIC and kind.endswith(b"lookahead"):  # a wrapping: four bytes, then the graph itself
        return _fst_is_whole(data, at + 4)
    return magic == FST_MAGIC and (kind != b"const" or len(data) >= at + 20 * states + 16 * arcs)


def _text(data: bytes, at: int) -> tuple[bytes, int]:
    length = struct.unpack_from("<i", data, at)[0]
    return data[at + 4 : at + 4 + length], at + 4 + length


@contextmanager
def _silenced() -> Iterator[None]:
    """Vosk writes errors straight to the process's standard error, whatever its log level; ours says it in one line."""
    kept = os.dup(2)
    try:
        with Path(os.devnull).open("wb") as nowhere:
            os.dup2(nowhere.fileno(), 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


def _problem(where: Path, what: str) -> ModelProblem:
    return ModelProblem(
        what, where=str(where), do="name another Vosk model folder in the settings, or restore this one."
    )
