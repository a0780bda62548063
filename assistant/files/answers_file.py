"""What is said in a rehearsal, step by step -> lines that know where they stand.

compression: [cylinder one one eighty, one ninety, one nine two]
hull: scored
plug: brown                 # of a repeated step: in each of its repeats; plug.2: in one

Steps that are not named go well by themselves.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from assistant.core.procedure import Procedure
from assistant.files.yaml_fields import Fields
from assistant.files.yaml_source import Complaints, Text, did_you_mean, parse_yaml, read_text

Answers = Mapping[str, tuple[Text, ...]]
"""The lines of each step that is named, by the step's id."""


def load_answers(path: Path, procedure: Procedure) -> Answers:
    """The answers in a file. Raises CallProblem (no such file) or FileProblems (all that is wrong with it)."""
    return read_answers(read_text(path), str(path), procedure)


def read_answers(text: str, file: str, procedure: Procedure) -> Answers:
    """The answers that the text holds, for the steps of this bound procedure. Raises FileProblems."""
    complaints = Complaints(file)
    table = parse_yaml(text, complaints)
    if table is None:
        return complaints.checked(None)
    known = steps_named(procedure)
    for key, place in table.keys.items():
        if key not in known:
            complaints.add(place, f"there is no step '{key}'", did_you_mean(key, known))
    fields = Fields(table, "an answers file", tuple(table.entries), complaints)
    return complaints.checked({key: fields.texts(key) for key in table.entries})


def steps_named(procedure: Procedure) -> tuple[str, ...]:
    """The ids that answers may be given for: every step, and what repeated ones are called together."""
    ids = [step.id for step in procedure.steps]
    return tuple(dict.fromkeys((*ids, *(repeated(step) for step in ids))))


def repeated(step: str) -> str:
    """What a repeated step is called together with its likes.

    >>> repeated("plug.2"), repeated("hull")
    ('plug', 'hull')
    """
    return step.partition(".")[0]
