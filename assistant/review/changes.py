"""The forms by which a job is changed: each POST is one act of `acting`, for who may, and then the rows that it touched."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import anyio
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from assistant.core.entries import ReadingKept
from assistant.core.problems import CallProblem
from assistant.files.keys import keys_root
from assistant.review import acting
from assistant.review.guarding import guarded
from assistant.review.job_page import Views, how_far, row_of, sign_page
from assistant.review.pages import by_htmx, job_address, rendered, whole_number
from assistant.review.roles import Act
from assistant.review.timeline import ORDERS, JobView


class Changes:
    """`/jobs/NAME/uphold`, `amend`, `ask`, `answer`, `decide`, `sign`, `key`."""

    def __init__(self, views: Views) -> None:
        self._views = views
        self.uphold = self._form("uphold", self._uphold)
        self.amend = self._form("amend", self._amend)
        self.ask = self._form("ask", self._ask)
        self.answer = self._form("answer", self._answer)
        self.decide = self._form("decide", self._decide)
        self.sign = guarded("sign")(self._sign)
        self.key = guarded("sign")(self._key)

    def _form(self, act: Act, change: Callable[[Path, FormData, str], Sequence[int]]) -> Callable[[Request], object]:
        """A POST that changes the job and answers with the rows it touched, or for a browser without script with the page."""

        async def done(request: Request) -> Response:
            path, form, who = self._views.path(request), await request.form(), request.state.who.name
            touched = await anyio.to_thread.run_sync(change, path, form, who)
            if not by_htmx(request):
                order = next((one for one in ORDERS if one == form.get("order")), "doubtful")
                query = f"order={order}&entry={touched[0]}"
                return RedirectResponse(f"{job_address(path.stem)}?{query}#e{touched[0]}", 303)
            return await anyio.to_thread.run_sync(self._rows, request, path, touched)

        return guarded(act)(done)

    def _rows(self, request: Request, path: Path, touched: Sequence[int]) -> Response:
        """The first row in the place of the one acted on, others in the place of what they replace; and how much is open."""
        view = self._views.view(path)
        pieces = [
            rendered(
                request,
                "row.html",
                name=path.stem,
                row=row_of(view, sequence),
                takes=replaced_by(view, sequence) if at else 0,
            )
            for at, sequence in enumerate(touched)
        ]
        pieces.append(rendered(request, "open_count.html", **how_far(path, view), beside=True))
        return HTMLResponse("\n".join(pieces))

    def _uphold(self, path: Path, form: FormData, who: str) -> Sequence[int]:
        refuse_settled(self._views.view(path), number(form, "entry"))
        acting.uphold(path, number(form, "entry"), text(form, "why"), who)
        return (number(form, "entry"),)

    def _amend(self, path: Path, form: FormData, who: str) -> Sequence[int]:
        reason = text(form, "other") or text(form, "reason")
        kept = acting.amend(path, number(form, "entry"), text(form, "value"), reason, who)
        return tuple(k.sequence for k in kept)  # the amendment, then what was judged again for it

    def _ask(self, path: Path, form: FormData, who: str) -> Sequence[int]:
        kept = acting.ask(path, number(form, "entry"), text(form, "question"), who)
        return (number(form, "entry") or kept.sequence,)

    def _answer(self, path: Path, form: FormData, who: str) -> Sequence[int]:
        acting.answer(path, number(form, "question"), text(form, "words"), who)
        return (number(form, "entry"),)

    def _decide(self, path: Path, form: FormData, who: str) -> Sequence[int]:
        entry = number(form, "entry")
        words, by, on = text(form, "words"), text(form, "by"), text(form, "on")
        acting.decide(path, entry, text(form, "decision"), words, by, on, who, text(form, "own"))
        return (entry,)

    async def _sign(self, request: Request) -> Response:
        path, form = self._views.path(request), await request.form()
        who = request.state.who.name
        try:
            await anyio.to_thread.run_sync(acting.sign, path, who, text(form, "passphrase"), keys_root())
        except CallProblem as problem:
            return await anyio.to_thread.run_sync(self._not_done, request, path, problem)
        return RedirectResponse(job_address(path.stem), 303)

    async def _key(self, request: Request) -> Response:
        path, form = self._views.path(request), await request.form()
        given = (text(form, "passphrase"), text(form, "again"))
        try:
            await anyio.to_thread.run_sync(acting.new_key, request.state.who.name, *given, keys_root())
        except CallProblem as problem:
            return await anyio.to_thread.run_sync(self._not_done, request, path, problem)
        return RedirectResponse(f"{job_address(path.stem)}/sign", 303)

    def _not_done(self, request: Request, path: Path, problem: CallProblem) -> Response:
        return sign_page(request, path, self._views.view(path), problem)


def refuse_settled(view: JobView, sequence: int) -> None:
    """Only what is open can be let stand: anything more would come after a signature for nothing. CallProblem for the rest."""
    if 1 <= sequence <= len(view.kept) and not view.row(sequence).may_uphold:
        what = "nothing of it is open that could be kept"
        raise CallProblem(what, where=f"entry {sequence}", do="open the job again to see what is")


def replaced_by(view: JobView, sequence: int) -> int:
    """The entry whose place that value takes."""
    entry = view.kept[sequence - 1].entry
    return entry.replaces if isinstance(entry, ReadingKept) else sequence


def text(form: FormData, field: str) -> str:
    """A field's text; "" where the form has none. A form may say that it is in some odd coding: what has no form in UTF-8 is
    left out."""
    value = form.get(field, "")
    return value.encode("utf-8", "ignore").decode() if isinstance(value, str) else ""


def number(form: FormData, field: str) -> int:
    """An entry's number. CallProblem for anything else."""
    value = whole_number(text(form, field))
    if value is None:
        raise CallProblem("that is no entry", where=field, do="open the job again")
    return value
