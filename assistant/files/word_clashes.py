"""Refuses a procedure or a site sheet whose words are a command's: told by file and line, before a job begins.

Asked when files are read for a new job, not when an old one is opened: what stands in a job file is never refused for it.
"""

from __future__ import annotations

from collections.abc import Iterable

from assistant.core.ear_lint.findings import Finding
from assistant.core.ear_lint.word_clashes import in_site, in_steps
from assistant.core.machine import Site
from assistant.core.problems import FileProblem, FileProblems
from assistant.core.procedure import Procedure
from assistant.files.text_places import TextPlaces


def refuse_clashes(procedure: Procedure, procedure_text: str, site: Site, site_text: str) -> None:
    """Raises FileProblems with every word that is a command already; the texts are those that the two were read from."""
    problems = (
        *_placed(in_site(site), TextPlaces(site_text, site.file)),
        *_placed(in_steps(procedure, site), TextPlaces(procedure_text, procedure.file)),
    )
    if problems:
        raise FileProblems(problems)


def _placed(found: Iterable[Finding], places: TextPlaces) -> tuple[FileProblem, ...]:
    once = {(one.line, one.path): one for one in found}
    return tuple(FileProblem(one.what, where=places.of(one.line, one.path), do=one.do) for one in once.values())
