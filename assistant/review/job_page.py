"""One job: its rows in an order, a page of them at a time; a single row anew; what its clips hold."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

from starlette.requests import Request
from starlette.responses import Response

from assistant.core.entries import opened_in
from assistant.core.problems import CallProblem
from assistant.files.keys import keys_root, known_keys
from assistant.files.verdict import Signed
from assistant.reports.figures import MOST_OF_STEPS, figures_of
from assistant.review import acting
from assistant.review.clips import SHA256, clip_answer
from assistant.review.folder import JOB, Folder
from assistant.review.garbage import COLLECTOR
from assistant.review.guarding import guarded
from assistant.review.pages import page, whole_number
from assistant.review.refusals import Refused
from assistant.review.summary import numbers_of
from assistant.review.timeline import ORDERS, ROWS_A_PAGE, JobView, Order
from assistant.review.untrusted import clip_in, record_in

VIEWS_KEPT = 8
"""Jobs whose rows are kept ready; each is made anew when its file has changed."""


class Views:
    """The last few jobs that were looked at, made ready."""

    def __init__(self, folder: Folder) -> None:
        self.folder = folder
        self._guard = threading.Lock()
        self._made: OrderedDict[str, tuple[object, JobView]] = OrderedDict()

    def path(self, request: Request) -> Path:
        """The job file that the address names. Refused (404) where the folder has none of that name."""
        found = self.folder.find(request.path_params["name"])
        if found is None:
            what = "There is no such job in this folder."
            raise Refused(404, what, "Look in the list of jobs; the file may have another name now.")
        return found

    def view(self, path: Path) -> JobView:
        """The job as it stands now. Raises as `entries_in`."""
        mark = self.folder.mark(path.name.removesuffix(JOB))
        with self._guard:
            made = self._made.get(path.name)
            if made is not None and made[0] == mark:
                self._made.move_to_end(path.name)
                return made[1]
        with COLLECTOR.held_back():
            view = JobView(record_in(path))
        with self._guard:
            self._made[path.name] = (mark, view)
            while len(self._made) > VIEWS_KEPT:
                self._made.popitem(last=False)
                COLLECTOR.look_at_all()
        return view


class JobPage:
    """`/jobs/NAME` and what hangs on it to look at."""

    def __init__(self, views: Views) -> None:
        self._views = views
        self.show = guarded("look")(self._show)
        self.entry = guarded("look")(self._entry)
        self.figures = guarded("look")(self._figures)
        self.clip = guarded("listen")(self._clip)
        self.signing = guarded("sign")(self._signing)

    def _show(self, request: Request) -> Response:
        path = self._views.path(request)
        view = self._views.view(path)
        order = asked_order(request)
        sequences = view.order(order)
        pages = max(1, -(-len(sequences) // ROWS_A_PAGE))
        number = asked_page(request, sequences, pages)
        shown = sequences[(number - 1) * ROWS_A_PAGE : number * ROWS_A_PAGE]
        return page(
            request, "job.html",
            **how_far(path, view), numbers=numbers_of(view.report),
            order=order, orders=ORDERS, rows=view.rows(shown), page=number, pages=pages,
            count=len(sequences),
        )  # fmt: skip

    def _entry(self, request: Request) -> Response:
        path = self._views.path(request)
        view = self._views.view(path)
        return page(request, "row.html", name=path.stem, row=row_of(view, request.path_params["sequence"]))

    def _figures(self, request: Request) -> Response:
        path = self._views.path(request)
        view = self._views.view(path)
        figures = figures_of(view.report, opened_in(view.kept))
        return page(request, "figures.html", name=path.stem, report=view.report, figures=figures, most=MOST_OF_STEPS)

    def _clip(self, request: Request) -> Response:
        path, sha256 = self._views.path(request), request.path_params["sha256"]
        if not SHA256.fullmatch(sha256):
            raise Refused(404, "That is no clip's name.", "Open the job again.")
        try:
            clip = clip_in(path, sha256)
        except KeyError:
            what = "This clip is not in the job file: its sound may have been forgotten."
            raise Refused(404, what, "What was heard stands in the entry.") from None
        return clip_answer(request, sha256, clip)

    def _signing(self, request: Request) -> Response:
        path = self._views.path(request)
        return sign_page(request, path, self._views.view(path))


def sign_page(request: Request, path: Path, view: JobView, problem: CallProblem | None = None) -> Response:
    """The page to sign on, or to make a key on; with `problem`, what kept it from being done (status 400)."""
    has_key = acting.has_key(request.state.who.name, keys_root())
    wrong = f"{problem.what}{problem.do and f': {problem.do}'}." if problem else ""
    return page(request, "sign.html", 400 if problem else 200, **how_far(path, view), has_key=has_key, wrong=wrong)


def how_far(path: Path, view: JobView) -> dict[str, Any]:
    """What the pages are given to say how far a job is; `signer`: the signature that counts, and if its key is known here."""
    return {"name": path.stem, "view": view, "report": view.report, "state": view.state, "signer": _signer(view)}


def _signer(view: JobView) -> Signed | None:
    if view.state != "signed":
        return None
    last = view.signed[-1]
    return replace(last, known=known_keys(keys_root()).get(last.key, ""))


def row_of(view: JobView, sequence: int) -> object:
    """A row; refused (404) where the job has no such entry."""
    try:
        return view.row(sequence)
    except KeyError:
        raise Refused(404, "The job has no such entry.", "Open the job again.") from None


def asked_order(request: Request) -> Order:
    """The order that the address asks for, *doubtful first* where it says none of ours."""
    wanted = request.query_params.get("order", "")
    return next((order for order in get_args(Order) if order == wanted), "doubtful")


def asked_page(request: Request, sequences: tuple[int, ...], pages: int) -> int:
    """The page of rows: by its number, or the one with `entry` on it."""
    entry = whole_number(request.query_params.get("entry", ""))
    if entry is not None and entry in sequences:
        return sequences.index(entry) // ROWS_A_PAGE + 1
    return min(max(whole_number(request.query_params.get("page", "")) or 1, 1), pages)
