"""A camera's frames: in how many ways a label was read, and that one way, however often, is no proof."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from label_tables import LABELS, SCRIPTED_PX, ScriptedDecoder, lines_at

from assistant.core.events import Label
from assistant.devices.frame_reading import CLOSER_AFTER, CLOSER_EVERY, FrameReading
from assistant.devices.preparation import LADDER, local_contrast
from assistant.devices.symbol_places import Found

Script = list[tuple[Found, ...]]

GREY = np.full((SCRIPTED_PX, SCRIPTED_PX), 200, np.uint8)
EAN, CODE_39, MATRIX = Label("EAN-13", "2990001000421"), Label("CODE-39", "T3-1142"), Label("DATA-MATRIX", "T3-1142")
UPC_E = Label("EAN-13", "0012345000065")
E, C, M, U = (lines_at(label, 10) for label in (EAN, CODE_39, MATRIX, UPC_E))
RUNGS = sum(rung(GREY) is not None for rung in LADDER.values())
"""Those that change a small picture that lies straight."""


def reading(zbar: Script, zxing: Script, beside: Script | None = None) -> FrameReading:
    """A reader whose decoders find these, picture by picture; zxing has a script of its own for what zbar does not read."""
    made = FrameReading()
    made.close()
    made.zbar, made.zxing = ScriptedDecoder(*zbar), ScriptedDecoder(*zxing)
    made.beside_zbar = ScriptedDecoder(*(beside or []))
    made.begin()
    return made


@pytest.mark.parametrize(
    ("zbar", "zxing", "label", "frames"),
    [
        pytest.param([(E,), (E,)], [(E,)], EAN, 1, id="both decoders, in the first frame"),
        pytest.param([(E,)], [(), ()], EAN, 0, id="zbar alone, once"),
        pytest.param([(E,), (E,), (), (E,)], [], EAN, 2, id="zbar alone, on a second rung in the second frame"),
        pytest.param([(E,), (E,), (E,)], [], EAN, 0, id="zbar alone, frame after frame as it is"),
        pytest.param([(C,), (C,), (), (C,)], [], CODE_39, 0, id="without check, zbar on two rungs"),
        pytest.param([(C,)], [(C,)], CODE_39, 1, id="without check, both"),
        pytest.param([(U,), (U,), (), (U,)], [], UPC_E, 0, id="perhaps UPC-E, zbar on two rungs"),
        pytest.param([()], [(M,)], MATRIX, 1, id="a matrix code corrects itself"),
    ],
)  # fmt: skip
def test_a_linear_label_is_trusted_when_it_was_read_in_two_ways(
    zbar: Script, zxing: Script, label: Label, frames: int
) -> None:
    """Two decoders, or one on two rungs where the symbol carries a check; in which frame, 0 for none of the first two."""
    reader = reading(zbar, zxing)
    trusted = []
    for _ in range(2):
        reader.read(GREY)
        trusted.append(reader.trusts(label))
    assert trusted == [frames == 1, frames in (1, 2)]


def test_the_text_that_is_read_in_fewer_ways_than_its_rival_is_not_trusted() -> None:
    """zbar takes the bars for another number on two rungs, everything else for the right one: as in a still, that counts."""
    wrong = lines_at(Label("EAN-13", "2930001060421"), 10)
    reader = reading([], [])
    reader.zbar, reader.zxing = On({"as it is": wrong, "enlarged": wrong}, E), On({"as it is": None}, E)
    reader.begin()
    for _ in range(CLOSER_AFTER + 1):
        reader.read(GREY)
    assert (reader.trusts(wrong.label), reader.trusts(EAN)) == (False, True)


def test_one_decoder_alone_is_not_trusted_against_the_other() -> None:
    """zbar takes the bars for another number on all rungs, zxing reads the right one as it is: nobody is believed."""
    wrong = lines_at(Label("EAN-13", "2930001060421"), 10)
    reader = reading([], [])
    reader.zbar, reader.zxing = On({}, wrong), On({"enlarged": None, "calmed": None, "other": None}, E)
    reader.begin()
    for _ in range(CLOSER_AFTER + 1):
        reader.read(GREY)
    assert not reader.trusts(wrong.label)
    assert not reader.trusts(EAN)


class On:
    """A decoder that finds this on each of the named rungs, and the other thing on all others."""

    def __init__(self, rungs: dict[str, Found | None], otherwise: Found) -> None:
        self.rungs, self.otherwise = rungs, otherwise

    def decode(self, grey: np.ndarray) -> tuple[Found, ...]:
        shapes = {"enlarged": 2 * SCRIPTED_PX, "calmed": SCRIPTED_PX // 2}
        name = "as it is" if grey is GREY else next((n for n, px in shapes.items() if grey.shape[1] == px), "other")
        found = self.rungs.get(name, self.otherwise)
        scale = grey.shape[1] / SCRIPTED_PX
        return (Found(found.label, found.corners * np.float32(scale)),) if found else ()

    def close(self) -> None:
        pass


def test_a_lot_that_was_seen_once_is_looked_for_also_when_the_product_is_trusted() -> None:
    """zxing reads both, zbar the product alone: the attempts go on until the lot was read in another way too."""
    lot = lines_at(Label("GS1-128", "10F2604"), 40)
    reader = reading([(E,)] * 60, [(E, lot)] * 60)
    seen = [reader.read(GREY) for _ in range(CLOSER_AFTER)]
    assert reader.trusts(EAN)
    assert sum(lot.label in labels for labels in seen) == CLOSER_AFTER
    assert reader.trusts(lot.label)


def test_what_was_read_in_a_look_before_counts_no_more() -> None:
    """A new look begins with nothing."""
    reader = reading([(E,)], [(E,)])
    reader.read(GREY)
    assert reader.trusts(EAN)
    reader.begin()
    assert not reader.trusts(EAN)


class OnlyAsItIs(ScriptedDecoder):
    """Finds it in the picture as it is, each time, and on no rung; counts how often it is asked."""

    asked = 0

    def decode(self, grey: np.ndarray) -> tuple[Found, ...]:
        self.asked += 1
        return (E,) if grey is GREY else ()


class NotAsItIs(ScriptedDecoder):
    """Finds what it is to find when it is asked on a rung."""

    def decode(self, grey: np.ndarray) -> tuple[Found, ...]:
        return () if grey is GREY else super().decode(grey)


def test_a_bent_packet_that_one_decoder_takes_for_another_is_not_believed() -> None:
    """zbar gives a wrong number with a right check digit in every frame, and nothing else gives it: never trusted.

    The whole ladder is climbed with the second such frame, and again some frames later; those between are quick.
    """
    reader = reading([], [])
    reader.zbar = zbar = OnlyAsItIs()
    reader.begin()
    asked = []
    for _ in range(CLOSER_AFTER + CLOSER_EVERY):
        before = zbar.asked
        assert reader.read(GREY) == (EAN,)
        asked.append(zbar.asked - before)
    assert not reader.trusts(EAN)
    climbs = [frame for frame, count in enumerate(asked, 1) if count > RUNGS]
    assert climbs == [CLOSER_AFTER, CLOSER_AFTER + CLOSER_EVERY]
    assert all(count <= 2 for frame, count in enumerate(asked, 1) if frame not in climbs)


@pytest.mark.parametrize(("found", "other"), [(E, True), (M, False)])
def test_what_is_read_on_a_rung_is_looked_for_there_in_the_next_frame(found: Found, *, other: bool) -> None:
    """A linear label by the other decoder; a matrix code by the same, which must give it again."""
    reader = reading([], [])
    reader.zbar = NotAsItIs((found,))
    reader.begin()
    while not reader.read(GREY):
        pass
    assert reader._first == ((local_contrast, reader.zxing if other else reader.zbar),)


@pytest.mark.parametrize("name", ["spark_plug", "oil_filter", "drain_washer", "anode", "cover_oring_large"])
def test_the_demos_labels_are_trusted_within_a_few_frames(name: str) -> None:
    """Real pictures, real decoders: linear with and without check, and a Data Matrix that zbar cannot read."""
    picture = cv2.imread(str(LABELS / f"{name}.png"), cv2.IMREAD_GRAYSCALE)
    reader = FrameReading()
    found = [label for _ in range(8) for label in reader.read(picture)]
    assert found
    assert reader.trusts(max(set(found), key=found.count))
    reader.close()
    reader.close()
