"""The two bar code decoders, each behind one function from a grey picture to labels and their places: zbar and zxing.

They fail differently. zbar is quick and reads worn linear codes; zxing reads Data Matrix too, and small codes. Both
give the same names and texts, so that their answers can be compared: GS1 symbols (FNC1 first) are told from plain ones,
FNC1 further on is GS (0x1D), all of the UPC family is EAN-13 with its leading zero.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from ctypes import POINTER, c_uint, string_at
from typing import Any, Protocol

from assistant.core.events import Label
from assistant.core.labels.check_digit import mod10_fault
from assistant.core.labels.meaning import PRODUCT_SYMBOLOGIES, carries_check
from assistant.core.problems import DeviceTrouble
from assistant.devices.protocols import Picture
from assistant.devices.symbol_places import Corners, Found, corners_of

SHORTEST_CODE_39 = 4
"""Characters. Texture and other symbols give false Code 39 of one to three; no part number is so short."""

MATRIX = ("QR", "GS1-QR", "DATA-MATRIX", "GS1-DATA-MATRIX")
"""They correct their errors by Reed and Solomon's code: what is read is right."""

_GS1_NAME = {"CODE-128": "GS1-128", "QR": "GS1-QR"}
_NAME_BY_MARK = {
    "]E": "EAN-13", "]E4": "EAN-8", "]C": "CODE-128", "]C1": "GS1-128", "]A": "CODE-39", "]G": "CODE-93",
    "]I": "ITF-14", "]e": "DATABAR", "]d": "DATA-MATRIX", "]d2": "GS1-DATA-MATRIX", "]Q": "QR", "]Q3": "GS1-QR",
}  # fmt: skip
"""ISO/IEC 15424: the symbology's letter, or with its modifier where that changes what the text means."""


_ZXING_FORMATS = "EAN13,EAN8,UPCA,UPCE,Code128,Code39Std,Code93,ITF,DataBar,DataBarExpanded,DataMatrix,QRCode"
"""What packets carry; looking for all that zxing knows takes twice the time. Code 39 as it stands: `/A` may also be one sign of
its full ASCII, which zbar does not know, and a part number's slash is meant as one."""
_BEYOND_ZBAR = "DataBar,DataBarExpanded,DataMatrix"
"""Those of them that zbar is not asked for: half the time of all of them."""


class Decoder(Protocol):
    """Finds and decodes bar codes in a grey picture (height by width)."""

    def decode(self, grey: Picture) -> tuple[Found, ...]:
        """Every label found, and where."""

    def close(self) -> None:
        """Let go of what the library holds; may be called twice."""


_FROM_UPC_E = re.compile(r"0[01](\d\d[0-2]0000\d{3}|\d{3}00000\d\d|\d{4}00000\d|\d{5}0000[5-9])\d")
"""What six figures of UPC-E are written out to (GS1 General Specifications 5.2.2.4.2): its digits hardly check each other,
and it is found in other symbols' bars."""


def maybe_upc_e(label: Label) -> bool:
    """Whether the symbol may have been a UPC-E."""
    return label.symbology == "EAN-13" and _FROM_UPC_E.fullmatch(label.text) is not None


def read_often_enough(label: Label, by: Sequence[Decoder], *, has_rivals: bool) -> bool:
    """Whether a reading is an answer; `by`: who read it, once for each way (a decoder on a rung).

    A matrix code corrects its own errors; a linear one must come in two ways. By two decoders, where its symbol hardly checks
    itself, or was read otherwise too (`has_rivals`): one decoder takes worn bars for the same other number on rung after rung.
    """
    if label.symbology in MATRIX:
        return True
    if has_rivals or maybe_upc_e(label) or not carries_check(label):
        return len(set(map(id, by))) > 1
    return len(by) > 1


def is_another_product(label: Label, agreed: Iterable[Label]) -> bool:
    """Whether it and one that is agreed on both hold a product's number and can hold nothing else, as EAN, UPC and ITF-14.

    It is no lot of that product, and worn bars are read as another number of their own kind: it is not waited for.
    """
    products = {other for other in agreed if other.symbology in PRODUCT_SYMBOLOGIES}
    return label.symbology in PRODUCT_SYMBOLOGIES and not products <= {label}


def lost_its_accents(label: Label, others: Iterable[Label]) -> bool:
    """Whether it is another one of these without FNC4, which adds 128 to a character (ISO/IEC 15417, from memory).

    zbar passes it over, and reads an accented letter as some plain sign.
    """
    accented = (other.text for other in others if other.symbology == label.symbology and not other.text.isascii())
    return label.symbology == "CODE-128" and any(
        label.text == "".join(chr(ord(c) & 0x7F) for c in text) for text in accented if text.isprintable()
    )


def _label(symbology: str, text: str) -> Label | None:
    """None for what is not to be believed.

    Interleaved 2 of 5 only where it is an ITF-14 with a right check digit: others are read out of slanting EAN symbols.
    """
    if symbology == "CODE-39" and len(text) < SHORTEST_CODE_39:
        return None
    if symbology == "ITF-14" and (len(text) != 14 or mod10_fault(text) is not None):
        return None
    return Label(symbology, text)


def _text(data: bytes) -> str:
    """UTF-8, else ISO 8859-1, which the symbologies say where nothing else is said."""
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("latin-1")


class ZbarDecoder:
    """zbar by way of pyzbar's bindings. One scanner is kept, and let go by `close`.

    pyzbar's own `decode` drops the modifiers that tell GS1-128 from plain Code 128 (both lack the first FNC1 in their
    text), so the symbols are walked here. Where the library is too old to know modifiers, Code 128 and QR are left to
    zxing. DataBar and Codabar are off: zbar finds them in texture. `every_line` of the picture is looked at, or every
    second (half the time, and a linear code has many lines).
    """

    def __init__(self, *, every_line: bool = True) -> None:
        try:
            from pyzbar import wrapper
        except ImportError as e:
            raise DeviceTrouble(
                "the bar code decoder zbar is missing", where="camera", do="install it: apt-get install libzbar0"
            ) from e
        self._zbar: Any = wrapper
        self._modifiers: Any = _modifiers_function(wrapper)
        self._names = _zbar_names(wrapper, with_gs1=self._modifiers is not None)
        self._scanner: Any = wrapper.zbar_image_scanner_create()
        kind, config = wrapper.ZBarSymbol, wrapper.ZBarConfig
        for density in (config.CFG_X_DENSITY, config.CFG_Y_DENSITY):
            wrapper.zbar_image_scanner_set_config(self._scanner, kind.NONE, density, 1 if every_line else 2)
        for symbol in (kind.DATABAR, kind.DATABAR_EXP, kind.CODABAR, kind.PDF417):
            wrapper.zbar_image_scanner_set_config(self._scanner, symbol, config.CFG_ENABLE, 0)

    def decode(self, grey: Picture) -> tuple[Found, ...]:
        """Every label found; none after `close`."""
        if self._scanner is None:
            return ()
        pixels = grey.tobytes()
        image = self._zbar.zbar_image_create()
        try:
            self._zbar.zbar_image_set_format(image, int.from_bytes(b"Y800", "little"))
            self._zbar.zbar_image_set_size(image, grey.shape[1], grey.shape[0])
            self._zbar.zbar_image_set_data(image, pixels, len(pixels), None)
            self._zbar.zbar_scan_image(self._scanner, image)
            return tuple(self._found(image))
        finally:
            self._zbar.zbar_image_destroy(image)

    def _found(self, image: Any) -> Iterator[Found]:
        symbol = self._zbar.zbar_image_first_symbol(image)
        while symbol:
            name = self._names.get(symbol.contents.type)
            data = string_at(self._zbar.zbar_symbol_get_data(symbol), self._zbar.zbar_symbol_get_data_length(symbol))
            if name and self._modifiers is not None and self._modifiers(symbol) & 1:  # bit ZBAR_MOD_GS1 of zbar.h
                name = _GS1_NAME.get(name, name)
            if name and (label := _label(name, _text(data))):
                yield Found(label, self._corners(symbol))
            symbol = self._zbar.zbar_symbol_next(symbol)

    def _corners(self, symbol: Any) -> Corners:
        """Of a linear code zbar keeps a point a line that it read: where the reading ended, left and right in turns."""
        x, y, size = (
            self._zbar.zbar_symbol_get_loc_x,
            self._zbar.zbar_symbol_get_loc_y,
            self._zbar.zbar_symbol_get_loc_size,
        )
        return corners_of([(x(symbol, k), y(symbol, k)) for k in range(size(symbol))])

    def close(self) -> None:
        """Let go of the scanner."""
        if self._scanner is not None:
            self._zbar.zbar_image_scanner_destroy(self._scanner)
            self._scanner = None


def _modifiers_function(wrapper: Any) -> Any:
    try:
        return wrapper.zbar_function("zbar_symbol_get_modifiers", c_uint, POINTER(wrapper.zbar_symbol))
    except AttributeError:
        return None


def _zbar_names(wrapper: Any, *, with_gs1: bool) -> dict[int, str]:
    kind = wrapper.ZBarSymbol
    names = {kind.EAN13: "EAN-13", kind.EAN8: "EAN-8"}  # UPC-A and UPC-E come as EAN-13
    names |= {kind.I25: "ITF-14", kind.CODE39: "CODE-39", kind.CODE93: "CODE-93"}
    return names | ({kind.CODE128: "CODE-128", kind.QRCODE: "QR"} if with_gs1 else {})


class ZxingDecoder:
    """zxing by way of its own bindings. It holds nothing between pictures. `beside_zbar`: only what zbar does not read."""

    def __init__(self, *, beside_zbar: bool = False) -> None:
        try:
            import zxingcpp
        except ImportError as e:
            raise DeviceTrouble(
                "the bar code decoder zxing-cpp is missing", where="camera", do="install it: pip install zxing-cpp"
            ) from e
        self._zxing = zxingcpp
        self._formats = zxingcpp.barcode_formats_from_str(_BEYOND_ZBAR if beside_zbar else _ZXING_FORMATS)

    def decode(self, grey: Picture) -> tuple[Found, ...]:
        """Every label found."""
        codes = self._zxing.read_barcodes(grey, formats=self._formats)
        return tuple(Found(label, _zxing_corners(code)) for code in codes if (label := _zxing_label(code)))

    def close(self) -> None:
        """Nothing is held."""


def _zxing_label(code: Any) -> Label | None:
    """Named by its ISO/IEC 15424 symbology identifier, which stays the same from one release to the next."""
    mark, text = code.symbology_identifier, _text(code.bytes)
    name = _NAME_BY_MARK.get(mark) or _NAME_BY_MARK.get(mark[:2], "")
    if name == "EAN-13":
        text = text.zfill(13)
    return _label(name, text) if name else None


def _zxing_corners(code: Any) -> Corners:
    at = code.position
    return corners_of([(p.x, p.y) for p in (at.top_left, at.top_right, at.bottom_right, at.bottom_left)])
