"""The committed schemas are those of the readers, and agree with them on good files and on bad ones.

Validated by the `jsonschema` package (draft 2020-12), which knows nothing of ours.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from assistant.files.schema_files import SCHEMAS, schema_text
from tests.test_files_procedure import GOOD, JOINT, JOINTS, MISTAKES

HERE = Path(__file__).parents[1] / "procedures"
FILES = sorted(HERE.glob("*.yaml"))


class Yaml12(yaml.SafeLoader):
    """YAML as editors read it (1.2 core): yes, no, on and off are words, and a date is a text."""


Yaml12.yaml_implicit_resolvers = {
    first: [
        (tag, found)
        for tag, found in resolvers
        if tag != "tag:yaml.org,2002:timestamp" and (tag != "tag:yaml.org,2002:bool" or first in "tTfF")
    ]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def errors(schema: str, text: str) -> list[str]:
    loaded: Any = yaml.load(text, Yaml12)
    return [error.message for error in Draft202012Validator(SCHEMAS[schema]()).iter_errors(loaded)]


@pytest.mark.parametrize("file", SCHEMAS)
def test_the_committed_schema_is_the_one_that_the_program_makes(file: str) -> None:
    """If not: `layup schemas -o procedures/schemas`."""
    Draft202012Validator.check_schema(SCHEMAS[file]())
    assert (HERE / "schemas" / file).read_text(encoding="utf-8") == schema_text(SCHEMAS[file]())


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_shipped_file_is_of_its_schema(path: Path) -> None:
    kind = path.name.split(".")[1] if path.name.count(".") == 2 else "procedure"
    assert errors(f"{kind}.schema.json", path.read_text(encoding="utf-8")) == []


BEYOND_FORM = (
    "does not say how", "is never 'stoped'", "is not among the conditions", "is already there", "already means",
    "no earlier step", "already asked for", "given twice", "a tab where", "may not stand", "not YAML", "is not taken",
    "the tag tag", "a key must be a word", "in one another", "the least and the most", "exactly one rule",
    "two different values", "a step that tightens",
)  # fmt: skip
"""What a schema cannot tell: names elsewhere in the file, what one value is to another, YAML itself."""


@pytest.mark.parametrize(("old", "new", "told"), [m for m in MISTAKES if not any(b in m[2] for b in BEYOND_FORM)])
def test_what_the_reader_refuses_in_form_the_schema_refuses(old: str, new: str, told: str) -> None:
    assert errors("procedure.schema.json", GOOD.replace(old, new, 1)), told


@pytest.mark.parametrize(("old", "new", "told"), [j for j in JOINTS if "a circle has" not in j[2]])
def test_so_it_does_in_a_joint(old: str, new: str, told: str) -> None:
    assert errors("procedure.schema.json", GOOD + JOINT.replace(old, new).replace("{, ", "{")), told


def test_the_good_file_has_none() -> None:
    assert errors("procedure.schema.json", GOOD + JOINT) == []


def test_an_editor_finds_what_each_computation_takes() -> None:
    """In `with`, an input that the computation does not have is refused, one that it needs is wanted."""
    limit = "limits: [{by: compression_by_rule, with: {rule: lowest_75, pressures: all}}]"
    reading = f"{{name: c, ask: C, unit: psi, plausible: [0, 400], each: cylinder, {limit}}}"
    text = f"{GOOD}  - {{id: c, title: C, say: Go, readings: [{reading}]}}\n"
    assert errors("procedure.schema.json", text) == []
    assert errors("procedure.schema.json", text.replace("pressures: all", "presures: all"))
    assert errors("procedure.schema.json", text.replace(", pressures: all", ""))
    assert json.dumps(SCHEMAS["procedure.schema.json"]()).count('"compression_by_rule"') > 2
