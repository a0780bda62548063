"""One symbol has one text: rival readings of it, and labels that lie close and are none."""

from __future__ import annotations

import shutil

import cv2
import numpy as np
import pytest
from label_tables import SCRIPTED_PX, ScriptedDecoder, drawn_code_128, lines_at

from assistant.core.events import Label
from assistant.devices.decoders import ZbarDecoder, ZxingDecoder
from assistant.devices.frame_reading import FrameReading
from assistant.devices.label_reader import ZbarReader
from assistant.devices.preparation import LADDER
from assistant.devices.symbol_places import Found, are_rivals
from assistant.measure.label_symbols import draw_symbol

Script = list[tuple[Found, ...]]

GREY = np.full((SCRIPTED_PX, SCRIPTED_PX), 200, np.uint8)
EAN, LIKE = Label("EAN-13", "2990001000421"), Label("EAN-13", "2930001060421")
PLAIN, STARRED = Label("CODE-128", "ZS21-9426"), Label("CODE-128", "*S21-9426")
DASH, PLUS = Label("CODE-39", "EK24-5103"), Label("CODE-39", "EK24+5103")
A, B, B_BELOW, B_BESIDE = lines_at(EAN, 10), lines_at(LIKE, 10), lines_at(LIKE, 10, 40), lines_at(LIKE, 30)
P, Q = lines_at(PLAIN, 10), lines_at(STARRED, 13, 21)
D, E = lines_at(DASH, 10), lines_at(PLUS, 14, 20, 0, 0)
LOT = Label("GS1-128", "10F2604")
L = lines_at(LOT, 40)
LAST = [(), (), (), ()]
"""The rungs before the last one, in a picture that is neither large nor turned."""


@pytest.mark.parametrize(
    ("zbar", "zxing", "read"),
    [
        pytest.param([*LAST, (A, B)], [*LAST, (A, B)], (), id="level on the last rung"),
        pytest.param([(A, B)], [(A, B)], (), id="level on the first, and nothing more"),
        pytest.param([(A, B), (A,)], [(A, B)], (EAN,), id="level, then one is ahead"),
        pytest.param([(A, B), (), (), (), (B,)], [(A, B)], (LIKE,), id="ahead on the last rung"),
        pytest.param([(A,), (B,), (B,)], [(A,)], (EAN,), id="agreed on at once"),
        pytest.param([(A, P, B), (P, B), (B,)], [(A,)], (EAN, PLAIN), id="another kind is waited for, a rival is not"),
        pytest.param([(A,), (B,), (B,), (A,)], [], (), id="ahead, but by one decoder"),
        pytest.param([(A,), (), (A,)], [(B,), (B,), (A,)], (EAN,), id="one decoder alone, rung after rung, then both"),
        pytest.param([(A, B_BELOW)], [(A, B_BELOW)], (EAN, LIKE), id="two packets, one below"),
        pytest.param([(A, B_BESIDE)], [(A, B_BESIDE)], (EAN, LIKE), id="two packets, one beside"),
        pytest.param([(A, lines_at(LOT, 10))], [(A, lines_at(LOT, 10))], (EAN, LOT), id="kinds are no rivals"),
        pytest.param([(P, Q)], [(P, Q)], (), id="Code 128 level"),
        pytest.param([(P, Q), (P,)], [(P, Q)], (PLAIN,), id="Code 128 ahead"),
        pytest.param([(P, Q, L), (Q,), (Q,), (L,)], [(P,)], (PLAIN, LOT), id="Code 128, an agreed one stays"),
        pytest.param([(D, E)], [], (), id="without check, level"),
        pytest.param([(D,), (), (E,)], [], (), id="without check, level, one of them on the enlarged rung"),
        pytest.param([(D, E), (D,)], [], (DASH,), id="without check, ahead: for is_sure to doubt"),
        pytest.param([(D, E)], [(E,)], (PLUS,), id="without check, by both and ahead"),
    ],
)  # fmt: skip
def test_nothing_is_agreed_on_while_a_rival_is_level(zbar: Script, zxing: Script, read: tuple[Label, ...]) -> None:
    """Who reads what on which rung, and what is given: the one that is ahead, else neither."""
    assert scripted(ZbarReader(still=True), zbar, zxing).read(GREY) == read


def test_rivals_in_one_frame_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither of them, but what lies beside them; the next frame is taken as it comes."""
    reader = frames([(A, B, L), (A,), (A, B_BESIDE)], [])
    monkeypatch.setattr(reader, "trusts", lambda _label: True)
    assert [reader.read(GREY) for _ in range(3)] == [(LOT,), (EAN,), (EAN, LIKE)]


def frames(zbar: Script, zxing: Script) -> FrameReading:
    reader = FrameReading()
    reader.close()
    reader.zbar, reader.zxing = ScriptedDecoder(*zbar), ScriptedDecoder(*zxing)
    reader.beside_zbar = ScriptedDecoder()
    reader.begin()
    return reader


def scripted(reader: ZbarReader, zbar: Script, zxing: Script) -> ZbarReader:
    reader._zbar.close()
    reader._zbar, reader._zxing = ScriptedDecoder(*zbar), ScriptedDecoder(*zxing)
    return reader


@pytest.mark.parametrize(
    ("other", "rivals"),
    [
        (lines_at(LIKE, 0, 0, 200, 60), True),
        (lines_at(LIKE, 100, 50, 100, 40), True),
        (lines_at(LIKE, 200, 30, 0, 0), True),
        (lines_at(LIKE, 0, 70, 200, 0), True),
        (lines_at(LIKE, 0, 100, 200, 0), False),
        (lines_at(LIKE, 220, 0, 200, 60), False),
        (lines_at(Label("EAN-8", "02345673"), 0, 0, 100, 60), True),
        (lines_at(Label("ITF-14", "12345678901231"), 0, 0, 200, 60), True),
        (lines_at(PLAIN, 0, 0, 200, 60), False),
        (Found(LIKE, np.zeros((0, 2), np.float32)), False),
        (lines_at(EAN, 0, 0, 200, 60), False),
    ],
    ids=["same", "half of it", "its end", "a line close by", "a line far off", "beside it", "EAN-8 in it", "ITF in it",
         "another kind", "nobody knows where", "same text"],
)  # fmt: skip
def test_what_is_one_place(other: Found, *, rivals: bool) -> None:
    """Beside a reading of an EAN-13, 200 by 60 pixels: either way round the answer is the same."""
    one = lines_at(EAN, 0, 0, 200, 60)
    assert (are_rivals(one, other), are_rivals(other, one)) == (rivals, rivals)


def code_128(start: int, *values: int) -> np.ndarray:
    """With its check character: the sum of values by place, modulo 103 (ISO/IEC 15417, from memory; both decoders agree)."""
    check = (start + sum(k * value for k, value in enumerate(values, 1))) % 103
    return drawn_code_128([start, *values, check])


def bars_of(text: str) -> np.ndarray:
    return code_128(104, *(ord(c) - 32 for c in text))


@pytest.mark.parametrize("turn_deg", [0, 20])
def test_places_of_all_rungs_lie_on_the_drawn_bars(turn_deg: int) -> None:
    """Both decoders', brought back to the first picture: no further off the bars than four modules."""
    bars = cv2.copyMakeBorder(bars_of("T3-2040"), 150, 150, 150, 150, cv2.BORDER_CONSTANT, value=255)
    height, width = bars.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), turn_deg, 1)
    picture = cv2.warpAffine(bars, turn, (width, height), borderValue=255)
    corners = np.array([(190, 190), (width - 190, 190), (width - 190, height - 190), (190, height - 190)], np.float32)
    symbol = cv2.transform(corners[None], turn)[0]
    prepared = [p for rung in LADDER.values() if (p := rung(picture)) is not None]
    zbar = ZbarDecoder()
    found = [one.seen_from(p.back) for p in prepared for d in (zbar, ZxingDecoder()) for one in d.decode(p.picture)]
    zbar.close()
    assert len(found) >= 3
    for one in found:
        assert min(cv2.pointPolygonTest(symbol, (float(x), float(y)), True) for x, y in one.corners) > -4 * 3


LOT_BARS = code_128(105, 102, 10, 100, 38, 18, 22, 16, 20)
PRODUCT_BARS = code_128(105, 102, 1, 2, 99, 0, 1, 0, 1, 17)


def above(upper: np.ndarray, lower: np.ndarray, height_px: int, gap_px: int) -> np.ndarray:
    """Two symbols cut to so low, on one label."""
    wide = max(upper.shape[1], lower.shape[1])
    cut = [
        np.pad(b[40 : 40 + height_px], ((0, 0), (0, wide - b.shape[1])), constant_values=255) for b in (upper, lower)
    ]
    return np.pad(np.vstack([cut[0], np.full((gap_px, wide), 255, np.uint8), cut[1]]), 40, constant_values=255)


CLOSE = {
    "like serials, low, a tenth of their length apart": (
        above(bars_of("S21-9426"), bars_of("S21-9427"), 56, 36),
        {Label("CODE-128", "S21-9426"), Label("CODE-128", "S21-9427")},
    ),
    "product over lot": (
        above(PRODUCT_BARS, LOT_BARS, 60, 30),
        {Label("GS1-128", "0102990001000117"), LOT},
    ),
}


@pytest.mark.parametrize("still", [True, False])
@pytest.mark.parametrize("name", CLOSE)
def test_labels_that_lie_close_are_all_read(name: str, *, still: bool) -> None:
    """In a still and in a frame: two symbols are no rivals."""
    picture, labels = CLOSE[name]
    reader = ZbarReader(still=still)
    assert set(reader.read(picture)) == labels
    reader.close()


@pytest.mark.skipif(shutil.which("zint") is None, reason="zint draws these symbols: apt-get install zint")
@pytest.mark.parametrize("still", [True, False])
@pytest.mark.parametrize("symbology", ["EAN-13", "EAN-8", "UPC-A"])
def test_two_packets_side_by_side_are_both_read(symbology: str, *, still: bool) -> None:
    """Products of their own, with no more between them than their quiet zones."""
    symbols = [draw_symbol(symbology, np.random.default_rng(seed)) for seed in (1, 2)]
    bars = [np.kron(symbol.modules, np.ones((3, 3), np.uint8)) for symbol in symbols]
    white = np.full((bars[0].shape[0], 14 * 3), 255, np.uint8)
    reader = ZbarReader(still=still)
    found = reader.read(np.pad(np.hstack([bars[0], white, bars[1]]), 60, constant_values=255))
    reader.close()
    assert {label.text for label in found} == {symbol.text.zfill(len(found[0].text)) for symbol in symbols}
