"""The schemas as files, for editors: see `procedure_schema`."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path

from assistant.core.problems import CallProblem
from assistant.files.procedure_schema import procedure_schema
from assistant.files.schema_pieces import Schema
from assistant.files.sheet_schema import sheet_schema, site_schema

SCHEMAS: Mapping[str, Callable[[], Schema]] = {
    "procedure.schema.json": procedure_schema,
    "sheet.schema.json": sheet_schema,
    "site.schema.json": site_schema,
}


def write_schemas(folder: Path) -> tuple[Path, ...]:
    """All of them in that folder. Raises CallProblem where it cannot be written."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for file, schema in SCHEMAS.items():
            (folder / file).write_text(schema_text(schema()), encoding="utf-8")
    except OSError as error:
        raise CallProblem(f"the schemas cannot be written: {error.strerror}", where=str(folder)) from error
    return tuple(folder / file for file in SCHEMAS)


def schema_text(schema: Schema) -> str:
    """The text of a schema's file."""
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
