"""`layup measure labels`: pictures that can be made again, counts that are right, a folder of anyone's photographs."""

from __future__ import annotations

import json
import os
import shutil
import signal
from collections.abc import Iterator, Sequence
from contextlib import closing, suppress
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from label_tables import LABELS

from assistant.cli import main
from assistant.core.problems import DeviceTrouble
from assistant.devices.protocols import Picture
from assistant.measure.label_bending import bend
from assistant.measure.label_campaign import campaign
from assistant.measure.label_damage import STRENGTHS
from assistant.measure.label_folder import Photograph, read_photographs
from assistant.measure.label_fuzz import Campaign, tell
from assistant.measure.label_keeping import FORMAT, digest_of_sources
from assistant.measure.label_parsers import PARSERS
from assistant.measure.label_pictures import Shot, shots, take
from assistant.measure.label_plot import plot
from assistant.measure.label_readings import OURS, Decoders, Reading, comparable
from assistant.measure.label_scores import Trial, claims, report, scores
from assistant.measure.label_symbols import KINDS, draw_symbol
from assistant.measure.label_workers import looked_at
from assistant.measure.labels import look_at

needs_zint = pytest.mark.skipif(shutil.which("zint") is None, reason="zint draws these symbols: apt-get install zint")


@needs_zint
def test_a_picture_is_the_same_again_and_never_one_that_was_tuned_on() -> None:
    """From the seed alone; the two uses share neither pictures nor contents, and their strengths differ."""
    one, again = (take(Shot("EAN-13", "blur", 0), "measure") for _ in range(2))
    tuned = take(Shot("EAN-13", "blur", 0), "tune")
    assert (one.picture == again.picture).all()
    assert one.picture.shape == (720, 1280)
    assert one.text == again.text != tuned.text
    assert all(tune != measure for name, (tune, measure, _) in STRENGTHS.items() if name != "none")


@needs_zint
@pytest.mark.parametrize("symbology", list(KINDS))
def test_each_undamaged_symbology_is_read_by_ours(symbology: str) -> None:
    """The text that the generator says is there is what the decoders read."""
    from assistant.devices.label_reader import ZbarReader

    one = take(Shot(symbology, "none", 0), "measure")
    reader = ZbarReader(still=True)
    assert {comparable(label.text) for label in reader.read(one.picture)} == {one.text}
    reader.close()


@needs_zint
def test_no_product_number_is_an_article_of_commerce() -> None:
    """GS1 General Specifications 1.4.2: prefixes 2 (or 02 in front of a GTIN-14) and UPC number system 4 are for use inside."""
    rng = np.random.default_rng(1)
    first = {name: draw_symbol(name, rng).text[:4] for name in ("EAN-13", "EAN-8", "UPC-A", "GS1-128")}
    assert first["EAN-13"][0] == first["EAN-8"][0] == "2"
    assert first["UPC-A"][:2] == "04"
    assert first["GS1-128"] == "0102"


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("416000336108", "0416000336108"),
        ("416000336109", "416000336109"),
        ("0416000336108", "0416000336108"),
        ("01029900010001171726\x1d10A", "0102990001000117172610A"),
        ("12345670", "12345670"),
    ],
)
def test_texts_are_compared_as_all_decoders_write_them(text: str, same: str) -> None:
    """UPC-A's example number of reference.md section 1; a wrong check digit is left alone."""
    assert comparable(text) == same


def trial(wanted: str, **found: str) -> Trial:
    readings = tuple(Reading(name.replace("_", "-"), frozenset(text.split()), 10.0) for name, text in found.items())
    return Trial("EAN-13", "blur", frozenset(wanted.split()), True, True, readings)


TRIALS = [
    trial("a", pyzbar="a", zxing_cpp="", ours="a"),
    trial("a", pyzbar="", zxing_cpp="b", ours="a"),
    trial("a b", pyzbar="a", zxing_cpp="a b", ours="a b c"),
    trial("", pyzbar="", zxing_cpp="", ours="c"),
]


def test_read_and_wrong_are_counted_apart() -> None:
    """Read: all that is there. Wrong: anything else; a picture can be both, and an empty one only wrong."""
    counted = {s.decoder: (s.pictures, s.read, s.wrong) for s in scores(TRIALS)}
    assert counted == {"pyzbar": (4, 1, 0), "zxing-cpp": (4, 1, 1), "ours": (4, 3, 2)}
    said = " ".join(claims(TRIALS))
    assert "pyzbar 2, zxing-cpp 2, ours 0 (100% fewer" in said
    assert "of 1 linear codes that both miss, ours reads 1" in said
    assert "| blur" in "\n".join(report(TRIALS))
    assert plot(TRIALS).count("<circle") == 3 + 3


def test_a_folder_of_photographs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One object a decoder with the keys of issue 7; empty text means that there is no label."""
    for name in ("spark_plug", "oil_filter_wrong", "drain_washer"):
        shutil.copy(LABELS / f"{name}.png", tmp_path)
    rows = ["path,text", "spark_plug.png,2990001000421", "oil_filter_wrong.png,", "drain_washer.png,T3-1142"]
    (tmp_path / "manifest.csv").write_text("\n".join(rows), encoding="utf-8")
    assert main(["measure", "labels", "--folder", str(tmp_path), "--json"]) == 0
    told = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [set(row) for row in told] == [{"decoder", "pictures", "read", "wrong", "median_ms"}] * 3
    ours = next(row for row in told if row["decoder"] == "ours")
    assert (ours["pictures"], ours["read"], ours["wrong"]) == (3, 2, 1)


class Line(list[str]):
    """What a command printed."""

    def __call__(self, text: str) -> None:
        self.append(text)


FEW = (
    Shot("EAN-13", "none", 0),
    Shot("ITF-14", "turn", 1),
    Shot("QR", "jpeg", 1),
    Shot("", "text", 0),
    Shot("EAN-8", "smear", 2),
)


def told(trials: Sequence[Trial]) -> list[tuple[str, frozenset[str], list[tuple[str, frozenset[str]]]]]:
    """All but the times."""
    return [(t.symbology, t.wanted, [(r.decoder, r.texts) for r in t.readings]) for t in trials]


@needs_zint
def test_results_hang_neither_on_the_workers_nor_on_the_order() -> None:
    """Every picture and every reading of it follows from the picture's seed."""
    one, backwards_by_two = (
        told(campaign(FEW, 1, None, lambda _: None)),
        told(campaign(FEW[::-1], 2, None, lambda _: None)),
    )
    assert one == backwards_by_two[::-1]
    assert [decoder for decoder, _ in one[0][2]] == ["pyzbar", "zxing-cpp", "ours", "ours, camera"]
    assert len(one[1][2]) == 3


def test_each_picture_of_a_campaign_has_a_seed_of_its_own() -> None:
    """Later ones are others: what is measured from picture 5 on has none of the first five."""
    first, later = set(shots(5)), set(shots(5, 5))
    assert len(first) == len(later) == 5 * (len(KINDS) * len(STRENGTHS) + 3)
    assert not first & later


@needs_zint
def test_a_campaign_goes_on_where_it_stopped(tmp_path: Path) -> None:
    """What is kept is not done again, a line that broke off is, and the outcome is that of one go."""
    two = FEW[2:4]
    whole = told(campaign(two, 1, tmp_path / "whole", lambda _: None))
    lines = (tmp_path / "whole").read_text(encoding="utf-8").splitlines(keepends=True)
    assert len(lines) == 3
    for kept, left in (("".join(lines[:2]), 1), ("".join(lines)[:-9], 1), ("".join(lines), 0)):
        (tmp_path / "kept").write_text(kept, encoding="utf-8")
        said = Line()
        assert told(campaign(two, 1, tmp_path / "kept", said)) == whole
        assert said == ["1 of 2 pictures", "2 of 2 pictures"][2 - left :]
        assert len((tmp_path / "kept").read_text(encoding="utf-8").splitlines()) == 3


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("my notes\n", 1, "no kept trial"),
        ("{}\n", 1, "no kept trial"),
        (json.dumps({"format": FORMAT, "sources": "0"}) + "\n", 1, "another reader"),
        (json.dumps({"format": FORMAT, "sources": digest_of_sources()}) + "\n[]\n", 2, "no kept trial"),
        (json.dumps({"format": FORMAT, "sources": digest_of_sources()}) + '\n{"shot": ["QR", "jpeg", 1], "readings": []}\n', 2,
         "no kept trial"),
    ],
)  # fmt: skip
def test_other_trials_are_not_added_to(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, line: int, said: str
) -> None:
    """Not what another reader read, nor anything else: told with file and line, status 2, the file as it was."""
    kept = tmp_path / "kept"
    kept.write_text(text, encoding="utf-8")
    assert main(["measure", "labels", "--most", "1", "--keep", str(kept)]) == 2
    err = capsys.readouterr().err
    assert f"{kept}:{line}" in err
    assert said in err
    assert kept.read_text(encoding="utf-8") == text


def test_where_nothing_can_be_kept_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A folder that is not there; status 2."""
    assert main(["measure", "labels", "--most", "1", "--keep", str(tmp_path / "no" / "kept")]) == 2
    assert "name a file elsewhere" in capsys.readouterr().err


def killed(_: object, one: int) -> int:
    """A worker that is killed at the third picture."""
    if one == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    return one


def test_a_worker_that_is_killed_is_told() -> None:
    """What was done before is given, then what to do; nothing hangs."""
    with pytest.raises(DeviceTrouble, match="was killed") as raised:
        list(looked_at(killed, range(1, 6), 2))
    assert "fewer --workers" in raised.value.do


@pytest.mark.parametrize("option", ["--workers", "--from", "--fuzz"])
@pytest.mark.parametrize("value", ["-1", "x", "1.5", "²"])
def test_what_is_no_number_is_refused(option: str, value: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Status 2, and the argument named."""
    with suppress(SystemExit):
        assert main(["measure", "labels", f"{option}={value}"]) == 2
    assert f"argument {option}" in capsys.readouterr().err


def test_the_fuzz_command_counts_what_it_tried(capsys: pytest.CaptureFixture[str]) -> None:
    """By whichever fuzzer is installed: texts tried, and no exception."""
    assert main(["measure", "labels", "--fuzz", "2", "--json"]) == 0
    row = json.loads(capsys.readouterr().out)
    assert set(row) == {"by", "parsers", "inputs", "exceptions"}
    assert row["inputs"] > 100
    assert (row["parsers"], row["exceptions"]) == (len(PARSERS), 0)


def raises(text: str, _: date) -> None:
    """A parser that takes no figures."""
    if any(c in "0123456789" for c in text):
        raise ValueError("figures")


def test_a_parser_that_raises_is_counted_and_told() -> None:
    """Each time, whatever it raised; the campaign goes on; status 1, and one text that did it."""
    inputs, faults = bend(0.01, {"good": lambda text, _: text, "bad": raises})
    assert 0 < len(faults) < inputs
    assert {(f.parser, f.exception) for f in faults} == {("bad", "ValueError: figures")}
    line = Line()
    assert tell(Campaign("hypothesis", inputs, faults), as_json=False, line=line) == 1
    assert f"{len(faults)} exceptions" in line[0]
    assert line[1:] == [f"  bad: ValueError: figures, by {faults[0].text!r} on {faults[0].day}"]


def test_without_a_fuzzer_the_command_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Hypothesis in the place of atheris; with neither, status 2."""
    there = {"atheris": False, "hypothesis": True}
    monkeypatch.setattr("importlib.util.find_spec", lambda name: True if there[name] else None)
    assert main(["measure", "labels", "--fuzz", "1"]) == 0
    assert capsys.readouterr().out.startswith("hypothesis: ")
    there["hypothesis"] = False
    assert main(["measure", "labels", "--fuzz", "1"]) == 2
    assert "layup[fuzz]" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("manifest", "said"),
    [
        (None, "manifest.csv"),
        ("path,words\n", "column text"),
        ("path,text\nnone.png,1\n", "manifest.csv:2"),
        ("path,text\n", "nothing to look at"),
        ("path,text\nanode.png,T3-1142\nanode.png\n", "manifest.csv:3: this line has fewer"),
        ("path,text\nanode.png,T3,1142\n", "manifest.csv:2: this line has fewer or more"),
        ("path,text\n,T3-1142\n", "manifest.csv:2: this line names no picture"),
        (f"path,text\nanode.png,{'9' * 200_000}\n", "manifest.csv:2: that is no line of a table"),
        (b"path,text\nanode.png,T\xe9\n", "manifest.csv:2: this is not text in UTF-8"),
        ("path,text\nanode.png,T3\n".encode("utf-16"), "manifest.csv:1: this is not text in UTF-8"),
    ],
    ids=lambda x: str(x)[:60],
)
def test_a_wrong_folder_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], manifest: str | bytes | None, said: str
) -> None:
    """What, where and what to do, and exit status 2; what is no text, no table or no whole line, by its line."""
    shutil.copy(LABELS / "anode.png", tmp_path)
    if manifest is not None:
        written = manifest if isinstance(manifest, bytes) else manifest.encode()
        (tmp_path / "manifest.csv").write_bytes(written)
    assert main(["measure", "labels", "--folder", str(tmp_path)]) == 2
    assert said in capsys.readouterr().err


def test_several_labels_of_a_picture_have_a_row_each(tmp_path: Path) -> None:
    """They are gathered under their picture."""
    shutil.copy(LABELS / "anode.png", tmp_path)
    (tmp_path / "manifest.csv").write_text('path,text\nanode.png,A\x1dC\nanode.png,"B,\nD"\n', encoding="utf-8")
    (one,) = read_photographs(tmp_path)
    assert one.wanted == {"AC", "B,\nD"}


def photograph(wanted: str, *named: str, **found: str) -> Trial:
    """Of a folder, where nobody says beforehand what kind of symbol it is."""
    return replace(trial(wanted, **found), linear=None, checked=None, named=named)


def test_what_a_photograph_shows_is_called_what_a_decoder_called_it() -> None:
    """Of a folder nobody knows which labels are linear, nor which are checked: ours names those that it alone reads."""
    said = " ".join(claims([
        photograph("a", pyzbar="a", zxing_cpp="", ours="a"),
        photograph("b", "QR", pyzbar="", zxing_cpp="", ours="b"),
        photograph("c", "EAN-13", pyzbar="", zxing_cpp="", ours="c"),
        photograph("d e", "CODE-128", "QR", pyzbar="d", zxing_cpp="", ours="d e"),
        photograph("f", pyzbar="", zxing_cpp="x", ours=""),
    ]))  # fmt: skip
    assert (
        "of 4 pictures that both miss, ours reads 3 (1 CODE-128 and QR, 1 EAN-13, 1 QR); "
        "of what kind those in the other 1 are, no decoder says"
    ) in said
    assert "linear" not in said
    assert "wrong, of 5 pictures: pyzbar 0, zxing-cpp 1" in said


class Blind(Decoders):
    """The two as their makers ship them find nothing."""

    def readings(self, grey: Picture) -> Iterator[Reading]:
        """Ours is as it is."""
        for reading in super().readings(grey):
            yield reading if reading.decoder == OURS else replace(reading, texts=frozenset())


@pytest.mark.parametrize(("decoders", "named"), [(Blind, ("CODE-39",)), (Decoders, ())])
def test_what_ours_alone_reads_is_named(decoders: type[Decoders], named: tuple[str, ...]) -> None:
    """By its symbology; what the others read needs no name."""
    with closing(decoders()) as several:
        found = look_at(several, Photograph(LABELS / "drain_washer.png", frozenset({"T3-1142"})))
    assert (found.read_by(OURS), found.named) == (True, named)
