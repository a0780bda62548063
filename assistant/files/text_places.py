"""Where a text of a procedure or a site sheet stands in its file, by the names of the keys on the way to it.

For what is found wrong after the file has been read, when only the line of the step is known any more.
"""

from __future__ import annotations

from assistant.core.problems import Place
from assistant.files.yaml_source import Complaints, Items, Node, Table, parse_yaml

Key = str | int
OTHER_NAME = {"cautions": "caution"}
"""Keys that may be written otherwise; both may be there, and are counted on."""


class TextPlaces:
    """The places of one file that is well formed."""

    def __init__(self, text: str, file: str) -> None:
        self.file = file
        self._root = parse_yaml(text, Complaints(file))
        steps = self._root.entries.get("steps") if self._root else None
        items = steps.items if isinstance(steps, Items) else ()
        self._steps: dict[int, Node] = {item.place.line: item for item in items}

    def of(self, step_line: int, path: tuple[Key, ...]) -> Place:
        """The place of what stands under the path in the step that begins in that line, as near as it is known.

        `step_line` 0: the path begins at the file's own keys.
        """
        node: Node | None = self._steps.get(step_line) if step_line else self._root
        place = node.place if node and step_line else Place(self.file, step_line)
        for key in path:
            node = _under(node, key)
            if node is None:
                break
            place = node.place
        return place


def _under(node: Node | None, key: Key) -> Node | None:
    """What stands under the key; None where nothing does: then the place found last is the nearest."""
    if isinstance(node, Table) and isinstance(key, str):
        return _joined(node, key) if key in OTHER_NAME else node.entries.get(key)
    if isinstance(node, Items) and isinstance(key, int) and key < len(node.items):
        return node.items[key]
    return None


def _joined(table: Table, key: str) -> Node | None:
    """A list under either of its names, or one after the other."""
    found = [table.entries[name] for name in (key, OTHER_NAME[key]) if name in table.entries]
    items = [item for node in found for item in (node.items if isinstance(node, Items) else (node,))]
    return Items(tuple(items), found[0].place) if found else None
