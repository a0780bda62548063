"""`layup sheet check`, and what `layup prove` says of the sheet: its questions, the answers to them, and what it lacks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from assistant.core.looking_up import bound_as_of, look_ups_of
from assistant.core.machine import MachineSheet, Site
from assistant.core.problems import FileProblem, FileProblems, Place
from assistant.core.procedure import Procedure
from assistant.core.sheet_needs import SheetNeeds, needs_of
from assistant.core.sheet_questions import SheetQuestion, questions_of
from assistant.files.procedure_file import load_procedure
from assistant.files.sheet_file import load_sheet
from assistant.files.shipped import PROCEDURE, SHEET, SITE, find_file, site_beside
from assistant.files.site_file import load_site


@dataclass(frozen=True)
class SheetCheck:
    """What was found in a sheet. `problems` of its form or with the procedure; `missing`: what that wants and it lacks;
    `looked_up`: what it lacks and leaves to the technician."""

    file: str
    summary: str
    problems: tuple[str, ...]
    missing: tuple[str, ...]
    looked_up: tuple[str, ...]
    questions: tuple[str, ...]
    answered: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """Nothing wrong and nothing missing; questions stand in no one's way."""
        return not self.problems and not self.missing

    def text(self) -> str:
        """For a person."""
        lacks = f"{self.file}: missing: {', '.join(self.missing)}\n  add it: layup sheet new PROCEDURE -o {self.file}"
        told = [lacks] if self.missing else []
        if self.looked_up:
            told.append(f"{self.file}: {in_the_bay(self.looked_up)}")
        return "\n".join((*self.problems, *told, *self.questions, *self.answered, self.summary))


def check_sheet(path: Path, procedure: Path | None, site: Path | None) -> SheetCheck:
    """Read a sheet and look at its numbers; with a procedure also whether it gives all that this wants, as it wants it.

    Problems of its form are gathered, not raised; those of the other two files are raised.
    """
    path = find_file(path, SHEET)
    wanted = load_procedure(find_file(procedure, PROCEDURE)) if procedure else None
    shop = shop_of(procedure, site)
    try:
        sheet = load_sheet(path)
    except FileProblems as wrong:
        return SheetCheck(str(path), f"{path}: not readable", tuple(str(p) for p in wrong.problems), (), (), (), ())
    needs = needs_of(wanted, shop.values) if wanted else None
    found = questions_of(sheet, needs)
    looked_up = looked_up_of(wanted, sheet, shop) if wanted else ()
    missing = tuple(name for name in missing_in(sheet, needs) if name not in looked_up) if needs else ()
    bound = bound_as_of(wanted, sheet, shop, ()).problems if wanted and not missing else ()
    problems, asked = tuple(str(p) for p in bound), questions_told(found, sheet.file)
    answered, summary = answers_told(found, sheet.file), _summary(sheet, len(asked))
    return SheetCheck(str(path), summary, problems, missing, looked_up, asked, answered)


def shop_of(procedure: Path | None, site: Path | None) -> Site:
    """The site named, else the only one beside the procedure, else one that says nothing."""
    if site is not None:
        return load_site(find_file(site, SITE))
    beside = site_beside(find_file(procedure, PROCEDURE)) if procedure else None
    return load_site(beside) if beside else Site()


def missing_in(sheet: MachineSheet, needs: SheetNeeds) -> tuple[str, ...]:
    """The counts, numbers and parts that are wanted and not there."""
    rows: tuple[tuple[Mapping[str, object], Mapping[str, object], str], ...] = (
        (needs.counts, sheet.counts, "count of {}"),
        (needs.values, sheet.values, "{}"),
        (needs.parts, sheet.parts, "part {}"),
    )
    return tuple(form.format(name) for wanted, given, form in rows for name in wanted if name not in given)


def looked_up_of(procedure: Procedure, sheet: MachineSheet, site: Site) -> tuple[str, ...]:
    """The numbers that the sheet leaves to the technician."""
    look_ups = look_ups_of(procedure, sheet, site)
    return tuple(need.name for need in look_ups.needs) if look_ups else ()


def in_the_bay(names: tuple[str, ...]) -> str:
    """What is told of numbers that are looked up."""
    return f"not in the sheet, looked up in the bay: {', '.join(names)}"


def sheet_warnings(sheet: MachineSheet, procedure: Procedure, site: Site) -> tuple[str, ...]:
    """What the sheet leaves to the technician, and the questions that it does not answer, with their lines."""
    looked_up = looked_up_of(procedure, sheet, site)
    told = (f"{sheet.file}: warning: {in_the_bay(looked_up)}",) if looked_up else ()
    questions = questions_told(questions_of(sheet, needs_of(procedure, site.values)), sheet.file)
    return (*told, *_pages_lacking(sheet, procedure), *questions)


def _pages_lacking(sheet: MachineSheet, procedure: Procedure) -> tuple[str, ...]:
    """A line for all places in the manual that steps name and the sheet has no page for; they stand in no one's way."""
    lacking = dict.fromkeys(step.manual for step in procedure.steps if step.manual and step.manual not in sheet.pages)
    if not lacking:
        return ()
    what = f"warning: the sheet has no page for {', '.join(lacking)}"
    return (str(FileProblem(what, where=Place(sheet.file), do="add it to the sheet's 'pages'")),)


def questions_told(questions: tuple[SheetQuestion, ...], file: str) -> tuple[str, ...]:
    """Each that is not answered."""
    return tuple(
        str(FileProblem(f"question: {q.about[0]}: {q.what}", where=Place(file, q.line), do=q.do))
        for q in questions
        if not q.checked
    )


def answers_told(questions: tuple[SheetQuestion, ...], file: str) -> tuple[str, ...]:
    """Each that is answered, with the answer."""
    return tuple(
        str(FileProblem(f"{q.about[0]}: {q.what}", where=Place(file, q.line), do=f"checked: {q.checked}"))
        for q in questions
        if q.checked
    )


def _summary(sheet: MachineSheet, questions: int) -> str:
    people = dict.fromkeys(f"{v.by} on {v.on}" for v in (*sheet.values.values(), *sheet.counted.values()))
    by = f", entered by {', '.join(people)}" if people else ""
    many = f"{len(sheet.values)} numbers, {len(sheet.counts)} counts, {len(sheet.parts)} parts"
    asked = {0: "no questions", 1: "1 question"}.get(questions, f"{questions} questions")
    return f"{sheet.file}: {sheet.model}: {many}{by}; {asked}"
