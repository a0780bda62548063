"""Is a page only what our templates make of it: no element, attribute or address that came out of a job file."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import assistant.reports
import assistant.review

JINJA = re.compile(r"\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", re.DOTALL)
SVG = {
    "svg": "xmlns width height viewbox role aria-label aria-hidden class font-family font-size fill",
    "g": "transform fill stroke font-size", "path": "d stroke stroke-width stroke-dasharray fill transform",
    "rect": "x y width height fill stroke stroke-width", "text": "x y font-size text-anchor font-weight fill transform",
    "circle": "cx cy r fill stroke stroke-width", "line": "x1 y1 x2 y2 stroke stroke-width",
}  # fmt: skip
"""What the figures are drawn with (`reports.figures.drawing`); presentation attributes only."""
ADDRESSES = ("href", "src", "action", "hx-get", "hx-post", "formaction", "poster", "xlink:href")
OURS = re.compile(
    r"(?:/(?!/)|\?|#|https?://127\.0\.0\.1:8710/)[^\s<>\"\\]*"
    r"|data:,|data:(?:image/png|image/jpeg|audio/flac);base64,[A-Za-z0-9+/=]*"
)
"""Where a page may lead and load from: the pages themselves, and clips inside a paper."""
MOST = {"style": 1, "script": 3}
TAG = re.compile(r"<[^<>]*>")
SCRIPTED = re.compile(r"<script[^>]*>\s*[^\s<][^<]*")
"""A script with something in it; ours are all in files of their own."""
Pair = tuple[str, str]


class Found(HTMLParser):
    """Every element with its attributes, as a parser that knows nothing of our templates finds them."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: Counter[str] = Counter()
        self.pairs: set[Pair] = set()
        self.addresses: set[str] = set()
        self.other: list[str] = []
        self.scripts: list[str] = []
        self._inside = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Count it."""
        self.elements[tag] += 1
        self.pairs.update((tag, name) for name, _ in attrs)
        self.addresses.update(value or "" for name, value in attrs if name in ADDRESSES)
        self._inside = tag if tag in ("script", "style") else ""

    def handle_endtag(self, _tag: str) -> None:
        """No text of it from here."""
        self._inside = ""

    def handle_data(self, data: str) -> None:
        """Text; that of a script is kept."""
        if self._inside == "script" and data.strip():
            self.scripts.append(data)

    def handle_comment(self, data: str) -> None:
        """There is none in our pages."""
        self.other.append(f"a comment: {data[:60]}")

    def handle_pi(self, data: str) -> None:
        """Nor of these."""
        self.other.append(f"an instruction: {data[:60]}")

    def unknown_decl(self, data: str) -> None:
        """Nor of these."""
        self.other.append(f"a declaration: {data[:60]}")


def found_in(html: str) -> Found:
    """The page taken apart."""
    parser = Found()
    parser.feed(html)
    parser.close()
    return parser


@cache
def vocabulary() -> tuple[frozenset[str], frozenset[Pair]]:
    """The elements and their attributes that stand in the templates, and those that figures are drawn with."""
    elements, pairs = set(SVG), {(tag, name) for tag, names in SVG.items() for name in names.split()}
    for package in (assistant.review, assistant.reports):
        for template in (Path(package.__file__ or "").parent / "templates").glob("*.html"):
            parts = found_in(JINJA.sub("", template.read_text("utf-8")))
            elements |= set(parts.elements)
            pairs |= parts.pairs
    return frozenset(elements), frozenset(pairs)


def strange(html: str) -> str:
    """What is in the page that no template of ours put there; "" for nothing.

    Every tag that stands in it is parsed once: a page of sixty rows has a hundred different ones among thousands.
    """
    tags, inside = TAG.findall(html), SCRIPTED.search(html)
    if html.count("<") != len(tags) or inside:
        return strange_whole(html) or (f"script: {inside[0][:60]}" if inside else "")
    if html.count("<style") > MOST["style"] or html.count("<script") > MOST["script"]:
        return "more than one style sheet, or a script too many"
    return strange_whole("".join(dict.fromkeys(tags)))


def strange_whole(html: str) -> str:
    """The same by parsing all of the page, as a browser does."""
    elements, pairs = vocabulary()
    parts = found_in(html)
    if odd := set(parts.elements) - elements:
        return f"elements {sorted(odd)}"
    if odd_pairs := parts.pairs - pairs:
        return f"attributes {sorted(odd_pairs)}"
    if parts.scripts:
        return f"script: {parts.scripts[0][:60]}"
    if parts.other:
        return parts.other[0]
    if any(name.startswith("on") or name == "style" for _, name in parts.pairs):
        return "an attribute that runs or styles"
    if foreign := [one for one in parts.addresses if not OURS.fullmatch(one)]:
        return f"an address: {foreign[0][:80]!r}"
    if any(parts.elements[name] > most for name, most in MOST.items()):
        return "more than one style sheet, or a script too many"
    return ""
