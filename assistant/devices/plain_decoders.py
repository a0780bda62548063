"""The two decoders as their makers ship them, one call on one grey picture: what ours is measured against.

All symbologies that a library looks for by itself, none of our rules of what to believe.
"""

from __future__ import annotations

from assistant.devices.protocols import Picture


def by_pyzbar(grey: Picture) -> tuple[str, ...]:
    """The texts that pyzbar finds."""
    from pyzbar import pyzbar

    return tuple(found.data.decode("utf-8", "replace") for found in pyzbar.decode(grey))


def by_zxing(grey: Picture) -> tuple[str, ...]:
    """The texts that zxing-cpp finds."""
    import zxingcpp

    return tuple(found.bytes.decode("utf-8", "replace") for found in zxingcpp.read_barcodes(grey))
