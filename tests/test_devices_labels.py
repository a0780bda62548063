"""The decoders and the reader on drawn symbols, and on the demo's pictures of greasy packets."""

from __future__ import annotations

import shutil
import subprocess
from datetime import date
from pathlib import Path

import cv2
import numpy as np
import pytest
import zxingcpp
from label_tables import LABELS, drawn_code_128, rows

from assistant.core.events import Label
from assistant.core.labels.meaning import read_label
from assistant.core.problems import CallProblem
from assistant.devices.decoders import ZbarDecoder, ZxingDecoder
from assistant.devices.eyes import is_sure, look
from assistant.devices.label_reader import ScriptedReader, ZbarReader
from assistant.devices.preparation import strongest_bars, turned_straight
from assistant.devices.scan import scan_pictures

GS = "\x1d"
TODAY = date(2026, 11, 25)


def drawn(folder: Path, symbology: str, data: str, *flags: str) -> np.ndarray:
    """A symbol by zint, grey, with a quiet zone."""
    picture, text = folder / "symbol.png", folder / "data"
    text.write_text(data, encoding="ascii")
    subprocess.run(["zint", "-b", symbology, *flags, "--scale=2", "-i", text, "-o", picture], check=True)
    return cv2.copyMakeBorder(cv2.imread(str(picture), 0), 40, 40, 40, 40, cv2.BORDER_CONSTANT, value=255)


needs_zint = pytest.mark.skipif(shutil.which("zint") is None, reason="zint draws these symbols: apt-get install zint")

BOTH, ZXING_ONLY = True, False
SYMBOLS = [
    ("EANX", "299000100042", (), Label("EAN-13", "2990001000421"), BOTH),
    ("EANX", "0234567", (), Label("EAN-8", "02345673"), BOTH),
    ("UPCA", "41600033610", (), Label("EAN-13", "0416000336108"), BOTH),
    ("UPCE", "0123456", (), Label("EAN-13", "0012345000065"), BOTH),
    ("CODE128", "T3-2040", (), Label("CODE-128", "T3-2040"), BOTH),
    ("CODE128", "0102990001000117", (), Label("CODE-128", "0102990001000117"), BOTH),
    ("GS1_128", "[01]02990001000117[10]F2604[21]7", (), Label("GS1-128", f"010299000100011710F2604{GS}217"), BOTH),
    ("GS1_128", "[01]02990001000117", (), Label("GS1-128", "0102990001000117"), BOTH),
    ("CODE39", "T3-1142", (), Label("CODE-39", "T3-1142"), BOTH),
    ("CODE39", "A1207-D", ("--vers=1",), Label("CODE-39", "A1207-DQ"), BOTH),
    ("ITF14", "1234567890123", (), Label("ITF-14", "12345678901231"), BOTH),
    ("QRCODE", "T3-2040", (), Label("QR", "T3-2040"), BOTH),
    ("QRCODE", "[01]02990001000117[10]A[21]7", ("--gs1",), Label("GS1-QR", f"010299000100011710A{GS}217"), BOTH),
    ("DATAMATRIX", "T3-3301", (), Label("DATA-MATRIX", "T3-3301"), ZXING_ONLY),
    ("DATAMATRIX", "[01]02990001000117[10]A[21]7", ("--gs1",),
     Label("GS1-DATA-MATRIX", f"010299000100011710A{GS}217"), ZXING_ONLY),
    ("DBAR_OMN", "0299000100011", (), Label("DATABAR", "0102990001000117"), ZXING_ONLY),
]  # fmt: skip


@needs_zint
@pytest.mark.parametrize(("symbology", "data", "flags", "label", "both"), SYMBOLS, ids=str)
def test_both_decoders_name_and_read_a_symbol_alike(
    tmp_path: Path, symbology: str, data: str, flags: tuple[str, ...], *, label: Label, both: bool
) -> None:
    """Names as in events.Label; GS1-128 told from Code 128; FNC1 further on is GS; UPC is EAN-13."""
    picture = drawn(tmp_path, symbology, data, *flags)
    zbar = ZbarDecoder()
    assert [found.label for found in zbar.decode(picture)] == ([label] if both else [])
    assert [found.label for found in ZxingDecoder().decode(picture)] == [label]
    zbar.close()


@pytest.mark.parametrize("row", rows("code128.tsv"), ids=lambda r: r["data"])
def test_a_code_128_symbol_is_read_only_with_the_published_check_character(row: dict[str, str]) -> None:
    """Drawn from its published values: both decoders read it, and neither does with the next check value."""
    values, check = [int(v) for v in row["values"].split()], int(row["check"])
    zbar, zxing = ZbarDecoder(), ZxingDecoder()
    for decoder in (zbar, zxing):
        assert [x.label.text for x in decoder.decode(drawn_code_128([*values, check]))] == [row["data"]]
        assert decoder.decode(drawn_code_128([*values, (check + 1) % 103])) == ()
    zbar.close()


DEMO = [
    ("oil_filter", {"gtin": "02990001000117", "lot": "F2604", "serial": "000731"}),
    ("oil_filter_wrong", {"gtin": "02990001000285"}),
    ("drain_washer", {"number": "T3-1142"}),
    ("spark_plug", {"gtin": "02990001000421"}),
    ("cover_oring_large", {"gtin": "02990001000513", "expiry": "2034-06-30", "lot": "R118"}),
    ("cover_oring_small", {"gtin": "02990001000520", "lot": "R204"}),
    ("cover_oring_large_old", {"gtin": "02990001000513", "expiry": "2024-05-31", "lot": "R087"}),
    ("anode", {"number": "T3-3301", "lot": "A77", "quantity": 1}),
]


@pytest.mark.parametrize(("name", "said"), DEMO, ids=lambda x: x if isinstance(x, str) else "")
def test_each_demo_label_is_read_right(name: str, said: dict[str, object]) -> None:
    """One sure label a picture, and nothing else found in the bench top beside it."""
    (row,) = scan_pictures([LABELS / f"{name}.png"], ZbarReader(still=True), TODAY)
    assert row.problem is None
    meaning = read_label(Label(row.symbology, row.text), TODAY)
    assert {field: getattr(meaning, field) for field in said} == said


@pytest.mark.parametrize("turn_deg", [0, 90, 180, 270])
def test_a_packet_may_lie_any_way_round(turn_deg: int) -> None:
    """The picture turned by quarters gives the same label."""
    picture = cv2.imread(str(LABELS / "spark_plug.png"))
    turned = np.ascontiguousarray(np.rot90(picture, turn_deg // 90))
    reader = ZbarReader(still=True)
    assert reader.read(turned) == (Label("EAN-13", "2990001000421"),)
    reader.close()


@pytest.mark.parametrize("turn_deg", [-40, -20, 10, 30])
def test_bars_are_turned_straight(turn_deg: int) -> None:
    """The structure tensor finds a known turn within two degrees, and after turning none is left."""
    flat = cv2.copyMakeBorder(drawn_code_128([105, 34, 56, 78, 73]), 250, 250, 200, 200, cv2.BORDER_CONSTANT, value=255)
    middle = (flat.shape[1] / 2, flat.shape[0] / 2)
    picture = cv2.warpAffine(flat, cv2.getRotationMatrix2D(middle, -turn_deg, 1), flat.shape[::-1], borderValue=255)
    assert strongest_bars(picture).turn_deg == pytest.approx(turn_deg, abs=2)
    straight = turned_straight(picture)
    assert straight is not None
    assert strongest_bars(straight.picture).turn_deg == pytest.approx(0, abs=2)


def written(symbology: str, text: str, module_px: int = 3) -> np.ndarray:
    """Drawn by zxing's own writer, on white."""
    code = zxingcpp.create_barcode(text, getattr(zxingcpp.BarcodeFormat, symbology))
    bars = np.array(zxingcpp.write_barcode_to_image(code, scale=module_px), np.uint8)
    return np.pad(bars, 60, constant_values=255)


@pytest.mark.parametrize("still", [True, False], ids=["still", "camera"])
@pytest.mark.parametrize(
    ("symbology", "text"), [("Code128", "Filter-\u00d67"), ("Code39", "T3/A-12"), ("Code39", "T3$B12")]
)
def test_signs_that_one_decoder_takes_for_others_are_never_another_part(
    symbology: str, text: str, *, still: bool
) -> None:
    """FNC4 of Code 128, which zbar passes over, makes nothing of it; pairs of Code 39 are no full ASCII: read as they stand."""
    picture = written(symbology, text)
    reader = ZbarReader(still=still)
    if still:
        labels = tuple(label for label in reader.read(picture) if is_sure(reader, picture, label))
    else:
        labels = look(PictureFilm([picture] * 15), reader, 60, lambda: 0.0).labels
    reader.close()
    assert {label.text for label in labels} <= {text}
    if symbology == "Code39":
        assert [label.text for label in labels] == [text]


class PictureFilm:
    """A camera of these frames."""

    def __init__(self, frames: list[np.ndarray]) -> None:
        self.left = list(frames)

    def frame(self) -> np.ndarray | None:
        return self.left.pop(0) if self.left else None

    def close(self) -> None:
        self.left = []


@pytest.mark.parametrize("rows", [1, 6, 15, 40])
def test_of_a_linear_code_a_strip_is_enough(rows: int) -> None:
    """A picture of a few rows of an EAN-13 is read."""
    picture = written("EAN13", "2990001000421")
    middle = picture.shape[0] // 2
    reader = ZbarReader(still=True)
    assert reader.read(np.ascontiguousarray(picture[middle : middle + rows])) == (Label("EAN-13", "2990001000421"),)
    reader.close()


def test_frames_take_turns_through_the_ladder() -> None:
    """A label that zbar alone can't read in a frame is read within the frames that one round of turns takes."""
    picture = cv2.imread(str(LABELS / "cover_oring_large.png"))
    reader = ZbarReader()
    found = [reader.read(picture) for _ in range(7)]
    assert (Label("GS1-DATA-MATRIX", "01029900010005131734060010R118"),) in found
    reader.close()


def test_a_closed_reader_holds_nothing_and_reads_nothing() -> None:
    """Close may be called twice; zbar's scanner is gone after it."""
    zbar = ZbarDecoder()
    zbar.close()
    zbar.close()
    assert zbar.decode(drawn_code_128([105, 34, 56, 78, 73])) == ()


def test_noise_and_empty_pictures_hold_no_label() -> None:
    """Nothing is made up of a bare bench, of noise, or of a picture of one pixel."""
    rng = np.random.default_rng(1)
    reader = ZbarReader(still=True)
    for picture in (
        rng.integers(0, 255, (240, 320), np.uint8),
        np.full((720, 1280, 3), 90, np.uint8),
        np.zeros((1, 1), np.uint8),
    ):
        assert reader.read(picture) == ()
    reader.close()


def test_scan_gives_one_json_row_a_label() -> None:
    """The object of design.md, with values by application identifier."""
    (row,) = scan_pictures([LABELS / "oil_filter.png"], ZbarReader(still=True), TODAY)
    assert row.as_json() == {
        "image": str(LABELS / "oil_filter.png"),
        "symbology": "GS1-128",
        "text": f"010299000100011710F2604{GS}21000731",
        "fields": {"01": "02990001000117", "10": "F2604", "21": "000731"},
        "problem": None,
    }


PRODUCT, LOT = Label("EAN-13", "2990001000117"), Label("GS1-128", "10F2604")


@pytest.mark.parametrize(
    ("labels", "rows"),
    [
        ((PRODUCT, LOT), [({"01": "02990001000117", "10": "F2604"}, True), ({"10": "F2604"}, True)]),
        ((LOT, PRODUCT), [({"10": "F2604"}, True), ({"01": "02990001000117", "10": "F2604"}, True)]),
        ((LOT,), [({"10": "F2604"}, False)]),
        ((LOT, Label("GS1-128", "10F2605"), PRODUCT),
         [({"10": "F2604"}, False), ({"10": "F2605"}, False), ({"01": "02990001000117"}, True)]),
        ((PRODUCT, Label("EAN-13", "2990001000285"), LOT),
         [({"01": "02990001000117"}, True), ({"01": "02990001000285"}, True), ({"10": "F2604"}, False)]),
        ((LOT, Label("CODE-39", "T3-1142")), [({"10": "F2604"}, False), ({}, False)]),
    ],
)  # fmt: skip
def test_labels_of_one_picture_are_one_packet(
    labels: tuple[Label, ...], rows: list[tuple[dict[str, str], bool]]
) -> None:
    """A lot alone is in order beside the one product of its picture; beside none, two, another lot, or a doubt it is not."""
    found = scan_pictures([LABELS / "anode.png"], ScriptedReader([labels]), TODAY)
    assert [(Label(row.symbology, row.text)) for row in found] == list(labels)
    assert [(row.fields, row.problem is None) for row in found] == rows


def test_a_picture_without_a_label_has_a_row_that_says_so(tmp_path: Path) -> None:
    """No silence: the row carries what to do about it."""
    path = tmp_path / "bench.png"
    cv2.imwrite(str(path), np.full((480, 640), 90, np.uint8))
    (row,) = scan_pictures([path], ZbarReader(still=True), TODAY)
    assert (row.symbology, row.text, row.fields) == ("", "", {})
    assert "closer" in (row.problem or "")


def test_a_missing_or_broken_picture_is_a_wrong_call(tmp_path: Path) -> None:
    """Named by its path, before anything else is read; a file that breaks off too."""
    text, cut = tmp_path / "notes.txt", tmp_path / "cut.png"
    text.write_text("no picture")
    cut.write_bytes((LABELS / "anode.png").read_bytes()[:200])
    for path in (tmp_path / "none.png", tmp_path, text, cut):
        with pytest.raises(CallProblem) as raised:
            scan_pictures([path], ZbarReader(still=True), TODAY)
        assert raised.value.where == str(path)


def test_a_folder_is_called_a_folder(tmp_path: Path) -> None:
    """And what to name in its place."""
    with pytest.raises(CallProblem, match="that is a folder") as raised:
        scan_pictures([tmp_path], ZbarReader(still=True), TODAY)
    assert f"{tmp_path}/*.png" in raised.value.do


@needs_zint
def test_the_demo_pictures_are_those_that_the_script_draws(tmp_path: Path) -> None:
    """Each drawn again lies as good as exactly on the committed one (zint and OpenCV releases may differ by a hair)."""
    import sys

    subprocess.run([sys.executable, LABELS.parent / "make_labels", tmp_path], check=True)
    for path in sorted(LABELS.glob("*.png")):
        committed, again = (cv2.imread(str(p)).astype(np.int16) for p in (path, tmp_path / path.name))
        assert np.abs(committed - again).mean() < 4, path.name
