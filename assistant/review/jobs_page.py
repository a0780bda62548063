"""The list of jobs: searched by machine, hull number, customer, technician or date, and by how far each is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from assistant.core.problems import LayupProblem
from assistant.reports.storage_code import MOST_SIGNS, read_code
from assistant.review.folder import Folder
from assistant.review.guarding import guarded
from assistant.review.pages import by_htmx, page, whole_number
from assistant.review.summary import STATES, State, Summary
from assistant.review.untrusted import hashed_so

SHOWN_AT_MOST = 100
"""Rows a page; a search narrows it sooner than scrolling."""
LONGEST_SEARCH = MOST_SIGNS
"""The longest that is searched for is the code of a storage tag."""


@dataclass(frozen=True)
class Found:
    """What a search found: the rows of this page, how many in all, and of each state in the folder."""

    rows: tuple[Summary, ...]
    count: int
    page: int
    pages: int
    of_state: Mapping[State, int]
    waiting: int


def search(summaries: tuple[Summary, ...], words: str, state: str, number: int, waiting: int = 0) -> Found:
    """The jobs that have every one of the words somewhere, newest first; `number` counts pages from 1. Where the words are the
    code of a storage tag, the job that it names."""
    code, wanted = read_code(words), words[:LONGEST_SEARCH].casefold().split()
    matching = [s for s in summaries if (s.name == code[0] if code else all(word in s.searched for word in wanted))]
    of_state = {name: sum(s.state == name for s in matching) for name in STATES}
    chosen = [s for s in matching if not state or s.state == state]
    chosen.sort(key=lambda s: (s.began, s.name), reverse=True)
    pages = max(1, -(-len(chosen) // SHOWN_AT_MOST))
    number = min(max(number, 1), pages)
    rows = tuple(chosen[(number - 1) * SHOWN_AT_MOST : number * SHOWN_AT_MOST])
    return Found(rows, len(chosen), number, pages, of_state, waiting)


class JobsPage:
    """`/`."""

    def __init__(self, folder: Folder) -> None:
        self._folder = folder
        self.show = guarded("look")(self._show)

    def _show(self, request: Request) -> Response:
        words, state = request.query_params.get("q", ""), request.query_params.get("state", "")
        found = search(*self._asked(words, state, whole_number(request.query_params.get("page", "")) or 1))
        template = "jobs_found.html" if by_htmx(request) else "jobs.html"
        return page(
            request, template,
            found=found, of_tag=self._of_tag(words), words=words, state=state, states=STATES, folder=self._folder.path,
            most=LONGEST_SEARCH,
        )  # fmt: skip

    def _of_tag(self, words: str) -> str:
        """Whether a tag, whose code was searched for, is of the record that the folder has of that name; "" where none was."""
        name, begins = read_code(words) or ("", "")
        path = self._folder.find(name) if begins else None
        if path is None:
            return ""
        try:
            entry = hashed_so(path, begins)
        except LayupProblem:  # what is wrong with the file stands in its line
            return ""
        if entry:
            return f"The tag is of this record: it was made when the last entry was number {entry}."
        return f"The tag is not of this record: none of its entries has a hash that begins with {begins}."

    def _asked(self, words: str, state: str, number: int) -> tuple[tuple[Summary, ...], str, str, int, int]:
        summaries, waiting = self._folder.summaries()
        return summaries, words, state if state in STATES else "", number, waiting
