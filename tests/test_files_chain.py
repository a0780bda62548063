"""The canonical form and the hash, against the vectors of RFC 8785 and FIPS 180-4."""

from __future__ import annotations

import json
import struct

import pytest

from assistant.files.chain import NOTHING_BEFORE, Link, canonical, sha256_hex

# RFC 8785, 3.2.2 and 3.2.3, as given by the README of its author's json-canonicalization
SAMPLE = (
    r'{"numbers":[1E30,4.50,6,2e-3,0.000000000000000000000000001],'
    r'"escaping":"\u20ac$\u000F\u000aA\'\u0042\u0022\u005c\\\"\/","other":[null,true,false]}'
).replace(r"\'", "'")
SAMPLE_HEX = (
    "7b226573636170696e67223a22e282ac245c75303030665c6e4127425c225c5c5c5c5c222f222c226e756d62657273223a5b31652b"
    "33302c342e352c362c302e3030322c31652d32375d2c226f74686572223a5b6e756c6c2c747275652c66616c73655d7d"
)
# keys in UTF-16 order, from weird.json of the same test data
SORTED_KEYS = ["1", "</script>", "\u0080", "\u00f6", "\u20ac", "\U0001f602", "\ufb33"]

# FIPS 180-4 examples
DIGESTS = [
    (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    (
        b"abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu",
        "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1",
    ),
    (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    (b"a" * 64, "ffe054fe7ae0cb6dc65c3af9b61d5209f439851db43d0ba5997337df154668eb"),
]

# RFC 8785, appendix B: the eight bytes of a number (IEEE 754, big end first) and how it is written
NUMBERS = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]
NO_NUMBERS = ["7fffffffffffffff", "7ff0000000000000"]


def number(digits: str) -> float:
    """The number that these bytes are."""
    [value] = struct.unpack(">d", bytes.fromhex(digits))
    assert isinstance(value, float)
    return value


@pytest.mark.parametrize(("digits", "text"), NUMBERS)
def test_numbers_of_rfc_8785(digits: str, text: str) -> None:
    """Every number of the standard's appendix B is written as there."""
    assert canonical(number(digits)).decode() == text


@pytest.mark.parametrize("digits", NO_NUMBERS)
def test_no_numbers_of_rfc_8785(digits: str) -> None:
    """NaN and infinity are refused, as there."""
    with pytest.raises(ValueError, match=r"."):
        canonical(number(digits))


def test_sample_object_of_rfc_8785() -> None:
    """The sample object has the bytes that RFC 8785 gives it."""
    assert canonical(json.loads(SAMPLE)).hex() == SAMPLE_HEX


@pytest.mark.parametrize("order", [SORTED_KEYS, SORTED_KEYS[::-1]])
def test_keys_are_sorted_by_utf_16_code_unit(order: list[str]) -> None:
    """Keys stand in order of UTF-16 code units, whatever order they came in."""
    assert list(json.loads(canonical(dict.fromkeys(order, 0)))) == SORTED_KEYS


@pytest.mark.parametrize("value", ["\ud800", 2**53, float("nan"), float("inf")])
def test_what_has_no_canonical_form_is_refused(value: object) -> None:
    """What RFC 8785 cannot write is refused, not rounded."""
    with pytest.raises(ValueError, match=r"."):
        canonical({"x": value})


@pytest.mark.parametrize(("data", "digest"), DIGESTS)
def test_sha256_of_fips_180_4(data: bytes, digest: str) -> None:
    """The digests are those of FIPS 180-4."""
    assert sha256_hex(data) == digest


def test_the_hash_covers_every_field() -> None:
    """Another value in any field gives another hash."""
    link = Link(1, "2026-10-14T09:00:00.000Z", "step opened", 1, {"step": "a"}, "", NOTHING_BEFORE)
    others = [
        Link(2, link.at, link.kind, 1, link.body, "", link.previous),
        Link(1, "2026-10-14T09:00:00.001Z", link.kind, 1, link.body, "", link.previous),
        Link(1, link.at, "step done", 1, link.body, "", link.previous),
        Link(1, link.at, link.kind, 2, link.body, "", link.previous),
        Link(1, link.at, link.kind, 1, {"step": "b"}, "", link.previous),
        Link(1, link.at, link.kind, 1, link.body, "0" * 64, link.previous),
        Link(1, link.at, link.kind, 1, link.body, "", "1" * 64),
    ]
    assert len({link.sha256(), *(other.sha256() for other in others)}) == 1 + len(others)
