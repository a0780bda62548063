"""The bench model in NumPy: against its own file, other programs' figures, enumeration, and finite differences."""

from __future__ import annotations

from itertools import pairwise, product
from pathlib import Path

import numpy as np
import pytest

from assistant.core.problems import CallProblem, ModelProblem
from assistant.core.speech.automaton import either, repeat, word
from assistant.core.speech.compiling import compile_grammar
from assistant.core.speech.pronunciations import PRONOUNCED
from assistant.core.speech.saying import ORDINARY
from assistant.devices.protocols import Utterance
from assistant.devices.recognisers.adapting.acoustic_file import read_acoustic_file, write_acoustic_file
from assistant.devices.recognisers.adapting.cepstra import Cepstra, read_cepstra
from assistant.devices.recognisers.adapting.learning import Fit, Said, descend, read_base
from assistant.devices.recognisers.adapting.likelihood import Graph, graph_of_words, log_likelihood, stacked
from assistant.devices.recognisers.adapting.network import Network
from assistant.devices.recognisers.adapting.transform import Transform, folded
from assistant.devices.recognisers.vosk_ear import VoskEar
from assistant.devices.sound_file import read_sound
from assistant.files.model_store import shipped_models

BASE = shipped_models() / "bench-en"
FINAL = BASE / "am" / "final.mdl"
RECORDINGS = Path(__file__).parents[1] / "demo" / "recordings"
MFCC = Path(__file__).parent / "tables" / "mfcc_reference.csv"


def half_a_second() -> np.typing.NDArray[np.int16]:
    """A rising tone with a sawtooth of noise, by formula."""
    n = np.arange(8_000)
    return (8000 * np.sin(2 * np.pi * (100 + 0.03 * n) * n / 16000) + (n * 7919 % 4001 - 2000)).astype(np.int16)


def test_what_is_read_and_written_is_the_same_file(tmp_path: Path) -> None:
    """The bench model, read and written without a change, is the same byte for byte."""
    write_acoustic_file(read_acoustic_file(FINAL), tmp_path / "final.mdl")
    assert (tmp_path / "final.mdl").read_bytes() == FINAL.read_bytes()


def test_no_change_folded_in_is_the_same_file(tmp_path: Path) -> None:
    """The identity, folded into the model, gives the same file, so Vosk hears the same."""
    model = read_acoustic_file(FINAL)
    write_acoustic_file(folded(model, Transform.identity(40)), tmp_path / "final.mdl")
    assert (tmp_path / "final.mdl").read_bytes() == FINAL.read_bytes()


@pytest.mark.parametrize("broken", [b"", b"\0B<TransitionModel> ", b"hello", FINAL.read_bytes()[:5_000_000]])
def test_a_broken_model_is_told(broken: bytes, tmp_path: Path) -> None:
    """A file that is empty, cut off or something else is a ModelProblem that names it."""
    path = tmp_path / "final.mdl"
    path.write_bytes(broken)
    with pytest.raises(ModelProblem, match="cannot be read") as found:
        read_acoustic_file(path)
    assert found.value.where == str(path)


def test_cepstra_agree_with_kaldi_native_fbank() -> None:
    """Every eighth frame of a known signal as kaldi-native-fbank 1.23.0 (PyPI) gives it, dither off, in single precision."""
    reference = np.loadtxt(MFCC, delimiter=",")
    found = read_cepstra(BASE / "conf" / "mfcc.conf").of(half_a_second(), dither=0.0)
    np.testing.assert_allclose(found[::8], reference, atol=0.01)


def test_an_option_that_is_not_computed_is_told(tmp_path: Path) -> None:
    """An option of the features that this program does not have is refused with its line."""
    conf = tmp_path / "mfcc.conf"
    conf.write_text("--use-energy=false\n--vtln-warp=1.1\n", encoding="utf-8")
    with pytest.raises(Exception, match="vtln-warp") as found:
        read_cepstra(conf)
    assert f"{conf}:2" in str(found.value)


def test_words_are_pronounced_as_in_the_dictionary() -> None:
    """Of every word that the program knows too, the model's graph has as many phones as one of CMUdict's variants.

    Two are said faster in the model's lexicon, which has them from no dictionary: HH AH N R AH D, N AY N IY.
    """
    lexicon = read_base(BASE).lexicon
    said = [w for w in PRONOUNCED if w in lexicon.words]
    assert len(said) > 200
    lengths = {w: {len(p) for p in lexicon.words[w]} for w in said}
    odd = [w for w in said if not lengths[w] & {len(p) for p in PRONOUNCED[w]}]
    assert set(odd) <= {"hundred", "ninety"}


def brute_force(outputs: np.typing.NDArray[np.float64], graph: Graph) -> float:
    """The likelihood summed over every sequence of states, one by one; a state may be stayed in or entered anew."""
    rows, total = len(outputs), 0.0
    for path in product(range(len(graph.first)), repeat=rows):
        ways = graph.begin[path[0]] * np.exp(outputs[0, graph.first[path[0]]])
        for t, (a, b) in enumerate(pairwise(path), 1):
            stays = (a == b) * graph.stay[a] * np.exp(outputs[t, graph.later[b]])
            ways *= stays + graph.enter[a, b] * np.exp(outputs[t, graph.first[b]])
        total += ways * graph.end[path[-1]]
    return float(np.log(total))


def small_graph(seed: int) -> Graph:
    """Three states, everything possible."""
    draw = np.random.default_rng(seed)
    shares = draw.uniform(0.1, 1.0, (6, 3))
    return Graph(
        draw.integers(0, 4, 3), draw.integers(0, 4, 3), shares[0], shares[1], draw.uniform(0, 0.5, (3, 3)), shares[2]
    )


def test_forward_backward_is_the_sum_over_all_ways() -> None:
    """Utterances of unequal length side by side, each in its own graph, give what enumeration gives; and so do slopes."""
    draw = np.random.default_rng(3)
    graphs = [small_graph(1), small_graph(2)]
    outputs = [draw.normal(size=(n, 4)) for n in (5, 3)]
    found, slopes = log_likelihood(outputs, stacked(graphs))
    assert found == pytest.approx([brute_force(o, g) for o, g in zip(outputs, graphs, strict=True)])
    for o, g, slope in zip(outputs, graphs, slopes, strict=True):
        for t, k in product(range(len(o)), range(4)):
            up, down = o.copy(), o.copy()
            up[t, k] += 1e-5
            down[t, k] -= 1e-5
            assert slope[t, k] == pytest.approx((brute_force(up, g) - brute_force(down, g)) / 2e-5, abs=1e-6)


def test_the_slope_is_that_of_finite_differences() -> None:
    """In double precision, the score changes with a small change of the features as its slope says, in twenty directions."""
    base = read_base(BASE)
    network = Network(base.acoustic)
    features = base.cepstra.of(np.tile(half_a_second(), 2)).astype(np.float64)
    tape = network.tape([features, features[:40]])
    run = network.run(tape)
    graph = stacked([graph_of_words(w, base.lexicon, base.acoustic) for w in (("one", "niner"), ("say", "again"))])

    def score(matrix: np.typing.NDArray[np.float64], offset: np.typing.NDArray[np.float64]) -> float:
        return float(log_likelihood(run.forward(tape.frames @ matrix.T + offset), graph)[0].sum())  # type: ignore[arg-type]

    same, none = np.eye(40), np.zeros(40)
    _, slopes = log_likelihood(run.forward(tape.frames), graph)
    by_frame = run.backward([s.astype(np.float64) for s in slopes])  # type: ignore[misc]
    by_matrix, by_offset = by_frame.T @ tape.frames, by_frame.sum(axis=0)
    draw = np.random.default_rng(5)
    for _ in range(20):
        d, e = draw.normal(size=(40, 40)) / 40, draw.normal(size=40)
        step = 1e-7  # so small that hardly any unit of the network begins or stops to answer within it
        numeric = (score(same + step * d, none + step * e) - score(same - step * d, none - step * e)) / (2 * step)
        assert (by_matrix * d).sum() + by_offset @ e == pytest.approx(numeric, rel=1e-3, abs=1e-3)


def test_a_folded_change_is_a_change_of_the_features() -> None:
    """The changed model on plain features gives what the plain model gives on changed ones."""
    base = read_base(BASE)
    draw = np.random.default_rng(7)
    change = Transform(np.eye(40) + draw.normal(size=(40, 40)) / 400, draw.normal(size=40))
    outputs = []
    for model, change_first in ((base.acoustic, True), (folded(base.acoustic, change), False)):
        network = Network(model)
        tape = network.tape([base.cepstra.of(half_a_second())])
        outputs.append(network.run(tape).forward(change.of(tape.frames) if change_first else tape.frames)[0])
    np.testing.assert_allclose(outputs[0], outputs[1], atol=1e-2)  # weights of two bytes: some 1e-3 of rounding


def test_it_descends_to_the_lowest_place() -> None:
    """On Rosenbrock's valley (Rosenbrock 1960; lowest at 1, 1), from his starting point."""

    def valley(x: np.typing.NDArray[np.float64]) -> tuple[float, np.typing.NDArray[np.float64]]:
        a, b = x
        slope = np.array([-400 * a * (b - a * a) - 2 * (1 - a), 200 * (b - a * a)])
        return float(100 * (b - a * a) ** 2 + (1 - a) ** 2), slope

    np.testing.assert_allclose(descend(valley, np.array([-1.2, 1.0]), 200, 0.0), [1.0, 1.0], atol=1e-3)


def test_an_unknown_word_is_told() -> None:
    """A word that the model does not know is named."""
    base = read_base(BASE)
    with pytest.raises(CallProblem, match="'bandersnatch'"):
        Fit(base, [Said(half_a_second(), ("bandersnatch",))], ["one"])


def test_too_short_a_sound_counts_for_nothing() -> None:
    """A sound with fewer rows than its words have phones has no likelihood, and does not spoil the slope."""
    base = read_base(BASE)
    fit = Fit(base, [Said(half_a_second()[:2000], ("seven",) * 9), Said(half_a_second(), ("one",))], ["one", "seven"])
    scores = fit.scores()
    assert np.isneginf(scores[0])
    assert np.isfinite(scores[1])
    total, slope = fit.slope(Transform.identity(40))
    assert total == pytest.approx(scores[1])
    assert np.isfinite(slope.matrix).all()


def test_features_of_a_model_can_be_of_other_sizes() -> None:
    """The number of bands and coefficients is the file's, not ours."""
    assert Cepstra(bands=23, coefficients=13).of(half_a_second()).shape == (48, 13)


@pytest.mark.speech
def test_vosk_weighs_strings_alike() -> None:
    """How far Vosk puts its second string below its first is as computed here, within 1.0 of logarithm on average.

    Not exactly: Vosk takes the best alignment where this sums over all, and its bigram has shares of its own.
    """
    base, ear = read_base(BASE), VoskEar(BASE)
    figures = (*ORDINARY, "ten", "fifteen", "fifty", "sixty")
    ear.listen_for(compile_grammar(repeat(either(*map(word, figures)), 1, 5)))
    network = Network(base.acoustic)
    apart: list[tuple[float, float]] = []
    for path in sorted(RECORDINGS.glob("*.flac")):
        samples = read_sound(path)
        found = ear.hear(Utterance(samples, 0.0, 1.0)).candidates
        alike = [c for c in found if len(c.words) == len(found[0].words)][:2]
        if len(alike) == 2:
            tape = network.tape([base.cepstra.of(samples)])
            graphs = stacked([graph_of_words(c.words, base.lexicon, base.acoustic) for c in alike])
            ours, _ = log_likelihood(network.run(tape).forward(tape.frames) * 2, graphs)
            apart.append((alike[0].logp - alike[1].logp, float(ours[0] - ours[1])))
    assert len(apart) >= 10
    vosk, ours = np.array(apart).T
    assert np.abs(vosk - ours).mean() < 1.0
    assert np.abs(vosk - ours[::-1]).mean() > 1.0  # those of other recordings do not fit
