"""The foreman's pages as one ASGI app: which address shows what, and which act each is. Everything behind the gate."""

from __future__ import annotations

from pathlib import Path

from starlette.responses import Response
from starlette.routing import BaseRoute, Route
from starlette.types import ASGIApp

from assistant.review import bay
from assistant.review.changes import Changes
from assistant.review.entrance import GateSettings
from assistant.review.folder import Folder
from assistant.review.gate import gated
from assistant.review.guarding import guarded, guarded_routes
from assistant.review.job_page import JobPage, Views
from assistant.review.jobs_page import JobsPage
from assistant.review.papers import Papers


def build_app(folder: Path, settings: GateSettings, cache: Path | None = None) -> ASGIApp:
    """The pages of the job files in a folder. `cache`: where summaries are kept (default: this user's cache folder)."""
    return gated(routes(Folder(folder, cache)), settings)


def routes(folder: Folder) -> list[BaseRoute]:
    """Every address. A job's name is looked up in the folder's listing, never made into a path."""
    views = Views(folder)
    job, changes, papers = JobPage(views), Changes(views), Papers(views)
    return [
        Route("/", JobsPage(folder).show, name="jobs"),
        Route("/jobs/{name}", job.show, name="job"),
        Route("/jobs/{name}/entries/{sequence:int}", job.entry, name="entry"),
        Route("/jobs/{name}/figures", job.figures, name="figures"),
        Route("/jobs/{name}/clips/{sha256}", job.clip, name="clip"),
        Route("/jobs/{name}/sign", job.signing, name="signing"),
        Route("/jobs/{name}/sign", changes.sign, methods=["POST"]),
        Route("/jobs/{name}/key", changes.key, methods=["POST"], name="key"),
        *(
            Route(f"/jobs/{{name}}/{act}", getattr(changes, act), methods=["POST"], name=act)
            for act in ("uphold", "amend", "ask", "answer", "decide")
        ),
        Route("/jobs/{name}/papers/{paper}", papers.show, name="paper"),
        Route("/favicon.ico", guarded("look")(lambda _request: Response(status_code=204))),
        *guarded_routes(bay.routes(folder.path), "watch"),
    ]
