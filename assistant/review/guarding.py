"""Which act a route is: `guarded("sign")` before its function, and the table of `roles` is asked on every request."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import wraps
from inspect import iscoroutinefunction
from typing import Any

from starlette.requests import Request
from starlette.routing import BaseRoute, Mount, Route

from assistant.review.refusals import Refused
from assistant.review.roles import MAY, ROLES, Act, Who


def guarded(act: Act) -> Callable[[Callable[[Request], Any]], Callable[[Request], Any]]:
    """A decorator for a route's function, plain or async: 403 for one whose role may not."""

    def around(endpoint: Callable[[Request], Any]) -> Callable[[Request], Any]:
        @wraps(endpoint)
        async def later(request: Request) -> Any:
            refuse_act(request.state.who, act)
            return await endpoint(request)

        @wraps(endpoint)
        def at_once(request: Request) -> Any:
            refuse_act(request.state.who, act)
            return endpoint(request)

        chosen: Callable[[Request], Any] = later if iscoroutinefunction(endpoint) else at_once
        vars(chosen)["act"] = act
        return chosen

    return around


def guarded_routes(routes: Iterable[Route], act: Act) -> list[Route]:
    """Routes that another module made without asking, each as that act."""
    return [
        Route(one.path, guarded(act)(one.endpoint), methods=sorted(one.methods or ()), name=one.name) for one in routes
    ]


def refuse_act(who: Who | None, act: Act) -> None:
    """Refused (403) for one who may not, saying which role may."""
    if who is None:
        raise Refused(401)
    if not who.may(act):
        can = " or a ".join(role for role in ROLES if act in MAY[role])
        raise Refused(403, f"You are here as {who.name}, {who.role}; that is for a {can}.", f"Ask a {can}.")


def refuse_unguarded(routes: Sequence[BaseRoute], before: str = "") -> None:
    """ValueError, when the program starts, for a route that says no act: none is ever open because it was forgotten."""
    for route in routes:
        path = before + getattr(route, "path", "?")
        if isinstance(route, Mount) and route.routes:
            refuse_unguarded(route.routes, path)
        elif not isinstance(route, Route) or getattr(route.endpoint, "act", None) is None:
            raise ValueError(f"the route {path} says no act: use guarded(act)")
