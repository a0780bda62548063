"""`layup measure labels`: pictures that can be made again, counts that are right, a folder of anyone's photographs."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from label_tables import LABELS

from assistant.cli import main
from assistant.measure.label_damage import STRENGTHS
from assistant.measure.label_folder import read_photographs
from assistant.measure.label_pictures import pictures
from assistant.measure.label_plot import plot
from assistant.measure.label_readings import Reading, comparable
from assistant.measure.label_scores import Trial, claims, report, scores
from assistant.measure.label_symbols import KINDS, draw_symbol

needs_zint = pytest.mark.skipif(shutil.which("zint") is None, reason="zint draws these symbols: apt-get install zint")


@needs_zint
def test_a_picture_is_the_same_again_and_never_one_that_was_tuned_on() -> None:
    """From the seed alone; the two uses share neither pictures nor contents, and their strengths differ."""
    one, again = (next(pictures(1, "measure", ("EAN-13",), ("blur",))) for _ in range(2))
    tuned = next(pictures(1, "tune", ("EAN-13",), ("blur",)))
    assert (one.picture == again.picture).all()
    assert one.picture.shape == (720, 1280)
    assert one.text == again.text != tuned.text
    assert all(tune != measure for name, (tune, measure, _) in STRENGTHS.items() if name != "none")


@needs_zint
@pytest.mark.parametrize("symbology", list(KINDS))
def test_each_undamaged_symbology_is_read_by_ours(symbology: str) -> None:
    """The text that the generator says is there is what the decoders read."""
    from assistant.devices.label_reader import ZbarReader

    one = next(pictures(1, "measure", (symbology,), ("none",)))
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


@pytest.mark.parametrize(
    ("manifest", "said"),
    [
        (None, "manifest.csv"),
        ("path,words\n", "column text"),
        ("path,text\nnone.png,1\n", "manifest.csv:2"),
        ("path,text\n", "nothing to look at"),
    ],
)
def test_a_wrong_folder_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], manifest: str | None, said: str
) -> None:
    """What, where and what to do, and exit status 2."""
    if manifest is not None:
        (tmp_path / "manifest.csv").write_text(manifest, encoding="utf-8")
    assert main(["measure", "labels", "--folder", str(tmp_path)]) == 2
    assert said in capsys.readouterr().err


def test_several_labels_of_a_picture_have_a_row_each(tmp_path: Path) -> None:
    """They are gathered under their picture."""
    shutil.copy(LABELS / "anode.png", tmp_path)
    (tmp_path / "manifest.csv").write_text("path,text\nanode.png,A\nanode.png,B\n", encoding="utf-8")
    (one,) = read_photographs(tmp_path)
    assert one.wanted == {"A", "B"}
