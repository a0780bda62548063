"""Decoding graphs for Vosk, made with OpenFst's command-line tools (Debian `libfst-tools`, `libfst22-plugins-base`).

HCLr.fst is the lexicon down to transition ids, Gr.fst any word after any; Vosk puts its run-time grammar in place of the
second. Three things that are easy to get wrong: turning HCLr into `olabel_lookahead` numbers the words anew, so words.txt and
Gr.fst must follow; disambiguation symbols are ids above the last transition id; a self-loop comes after its state is entered.
"""

import math
import os
import shutil
import subprocess
from collections import Counter, defaultdict
from collections.abc import Iterable
from pathlib import Path

from lexicon import PHONES, UNIT_ID, Pronunciation
from words import NUMBER_WORDS

Entry = tuple[str, Pronunciation, float]
PLUGINS = os.environ.get("FST_PLUGINS", "/usr/lib/x86_64-linux-gnu/fst/22")
"""Where OpenFst's lookahead types lie."""
UNKNOWN_WORD = "[unk]"
DISAMBIGUATIONS = 16
LEAVING = math.log(2)
"""Cost of a frame, whether a phone is left or stays, as in training."""


def _kaldi_phones() -> list[str]:
    """Kaldi's phones depend on the place in the word (begin, inside, end, single), so that Vosk finds word boundaries."""
    phones = ["SIL", "SPN_S", *(f"{phone}_{place}" for phone in PHONES for place in "BEIS")]
    for word in NUMBER_WORDS:
        units = [unit for unit in UNIT_ID if unit.rpartition(".")[0] == word]
        phones += placed(units)
    return phones


def placed(units: Iterable[str]) -> list[str]:
    """A word's units as Kaldi phones."""
    units = list(units)
    if len(units) == 1:
        return [f"{units[0]}_S"]
    return [f"{units[0]}_B", *(f"{unit}_I" for unit in units[1:-1]), f"{units[-1]}_E"]


KALDI_PHONES = _kaldi_phones()
PHONE_ID = {phone: k + 1 for k, phone in enumerate(KALDI_PHONES)}
TRANSITION_IDS = 2 * len(KALDI_PHONES)
"""Two a phone: 2k - 1 stays, 2k leaves (enters the next)."""
FIRST_DISAMBIGUATION = len(KALDI_PHONES) + 1


def pdfs() -> list[tuple[int, int]]:
    """(first frame, later frames) of each Kaldi phone: those of its unit, whatever its place."""
    units = [phone if phone == "SIL" else phone.rpartition("_")[0] for phone in KALDI_PHONES]
    return [(2 * UNIT_ID[unit], 2 * UNIT_ID[unit] + 1) for unit in units]


def run(command: str) -> str:
    """A pipeline of OpenFst's tools; RuntimeError with what it said where it fails."""
    if not shutil.which("fstcompile"):
        raise RuntimeError("OpenFst's tools are missing: apt-get install libfst-tools libfst22-plugins-base")
    environment = os.environ | {"LD_LIBRARY_PATH": PLUGINS}
    ended = subprocess.run(
        ["bash", "-c", f"set -o pipefail; {command}"], capture_output=True, text=True, env=environment, check=False
    )
    if ended.returncode:
        raise RuntimeError(f"{command}\n{ended.stderr}")
    return ended.stdout


def word_ids(vocabulary: Iterable[str]) -> dict[str, int]:
    """Words to the numbers that OpenFst knows them by at first."""
    return {word: k for k, word in enumerate(["<eps>", UNKNOWN_WORD, *vocabulary, "#0"])}


def lexicon_text(entries: Iterable[Entry], ids: dict[str, int], silence: float, unknown_cost: float) -> str:
    """The lexicon as OpenFst's text: silence may follow a word with this probability, homophones are told apart.

    State 0 begins, 1 is after a word, 2 waits for silence.
    """
    said = [(word, placed(way), cost) for word, way, cost in entries]
    said.append((UNKNOWN_WORD, ["SPN_S"], unknown_cost))
    times = Counter(tuple(way) for _, way, _ in said)
    begun = {tuple(way[:k]) for _, way, _ in said for k in range(1, len(way))}
    used: Counter[tuple[str, ...]] = Counter()
    pausing, going_on, free = -math.log(silence), -math.log(1 - silence), 3
    arcs: list[tuple[int, int, int, int, float]] = []
    for word, way, cost in said:
        labels = [PHONE_ID[phone] for phone in way]
        if times[tuple(way)] > 1 or tuple(way) in begun:
            used[tuple(way)] += 1
            if used[tuple(way)] >= DISAMBIGUATIONS:
                raise ValueError(f"{word}: too many words sound alike; raise DISAMBIGUATIONS")
            labels.append(FIRST_DISAMBIGUATION + used[tuple(way)])
        for start in (0, 1):
            state = start
            for k, label in enumerate(labels):
                out, paid = (ids[word], cost) if k == 0 else (0, 0.0)
                if k == len(labels) - 1:
                    arcs += [(state, 1, label, out, paid + going_on), (state, 2, label, out, paid + pausing)]
                else:
                    arcs.append((state, free, label, out, paid))
                    state, free = free, free + 1
    arcs += [(0, 1, PHONE_ID["SIL"], 0, pausing), (2, 1, PHONE_ID["SIL"], 0, 0.0)]
    arcs.sort(key=lambda arc: arc[0] != 0)
    return "".join(f"{a}\t{b}\t{i}\t{o}\t{c:.6f}\n" for a, b, i, o, c in arcs) + "0\t0.0\n1\t0.0\n"


def with_transitions(text: str) -> str:
    """Phones to transition ids with their self-loops."""
    arcs, finals = [], []
    for line in text.splitlines():
        parts = line.split("\t")
        if len(parts) >= 4:
            arcs.append(
                (int(parts[0]), int(parts[1]), int(parts[2]), int(parts[3]), float(parts[4]) if parts[4:] else 0.0)
            )
        else:
            finals.append((int(parts[0]), float(parts[1]) if parts[1:] else 0.0))
    start = int(text.split("\t", 1)[0])
    entering = defaultdict(set, {start: {0}})
    for _, to, phone, _, _ in arcs:
        entering[to].add(phone if 0 < phone < FIRST_DISAMBIGUATION else 0)
    free = 1 + max(max(arc[:2]) for arc in arcs)
    made: dict[tuple[int, int, int, int, float], None] = {}
    between: dict[tuple[int, int], int] = {}
    for state, to, phone, word, cost in arcs:
        if phone == 0:
            made[state, to, 0, word, cost] = None
        elif phone >= FIRST_DISAMBIGUATION:
            made[state, to, TRANSITION_IDS + 1 + phone - FIRST_DISAMBIGUATION, word, cost] = None
        else:
            holds = to
            if len(entering[to]) > 1:  # a state of its own for the loop of each phone that leads there
                if (to, phone) not in between:
                    between[to, phone], free = free, free + 1
                    made[between[to, phone], to, 0, 0, 0.0] = None
                holds = between[to, phone]
            made[holds, holds, 2 * phone - 1, 0, LEAVING] = None
            made[state, holds, 2 * phone, word, cost + LEAVING] = None
    ordered = sorted(made, key=lambda arc: arc[0] != start)
    return "".join(f"{a}\t{b}\t{i}\t{o}\t{c:.6f}\n" for a, b, i, o, c in ordered) + "".join(
        f"{state}\t{cost:.6f}\n" for state, cost in finals
    )


def write_graphs(
    entries: Iterable[Entry], vocabulary: Iterable[str], graph: Path, silence: float, unknown_cost: float
) -> None:
    """HCLr.fst, Gr.fst, words.txt, disambig_tid.int and phones/word_boundary.int into the folder `graph`."""
    ids, work = word_ids(vocabulary), graph / "work"
    work.mkdir(parents=True)
    (work / "L.txt").write_text(lexicon_text(entries, ids, silence, unknown_cost))
    determinized = run(f"fstcompile {work}/L.txt | fstdeterminize | fstprint")
    (work / "HCL.txt").write_text(with_transitions(determinized))
    run(
        f"fstcompile {work}/HCL.txt | fstarcsort --sort_type=olabel > {work}/HCL.fst; fstconvert --fst_type=olabel_lookahead"
        f" --save_relabel_opairs={work}/relabel {work}/HCL.fst {graph}/HCLr.fst"
    )
    new = {int(a): int(b) for a, b in (line.split() for line in (work / "relabel").read_text().splitlines())}
    (graph / "words.txt").write_text("".join(f"{word} {new.get(k, k)}\n" for word, k in ids.items()))
    words = list(ids)[2:-1]
    loop = "".join(f"0\t0\t{ids[word]}\t{math.log(len(words)):.4f}\n" for word in words)
    (work / "G.txt").write_text(loop + "0\t0.0\n")
    run(
        f"fstcompile --acceptor {work}/G.txt | fstrelabel --relabel_ipairs={work}/relabel --relabel_opairs={work}/relabel"
        f" | fstarcsort --sort_type=ilabel | fstconvert --fst_type=const > {graph}/Gr.fst"
    )
    (graph / "disambig_tid.int").write_text("".join(f"{TRANSITION_IDS + 1 + k}\n" for k in range(DISAMBIGUATIONS)))
    (graph / "phones").mkdir(exist_ok=True)
    places = {"B": "begin", "E": "end", "I": "internal", "S": "singleton"}
    (graph / "phones/word_boundary.int").write_text(
        "".join(f"{k} {'nonword' if phone == 'SIL' else places[phone[-1]]}\n" for phone, k in PHONE_ID.items())
    )
    shutil.rmtree(work)
