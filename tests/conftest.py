"""What all tests share: lines that are shown at the end of a run, also of one that goes well."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import settings

settings.register_profile("suite", deadline=None)  # two workers share two cores: a slow moment is no fault
settings.load_profile("suite")

MEASURED = pytest.StashKey[list[str]]()


@pytest.fixture
def tell(request: pytest.FixtureRequest) -> Callable[[str], None]:
    """Shows a line of a measurement at the end of the run."""
    return request.config.stash.setdefault(MEASURED, []).append


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A worker of pytest-xdist hands its lines to the process that prints."""
    handed = getattr(session.config, "workeroutput", None)
    if handed is not None:
        handed["measured"] = session.config.stash.get(MEASURED, [])


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: object) -> None:
    """The process that prints takes each worker's lines when it ends."""
    lines = node.config.stash.setdefault(MEASURED, [])
    lines.extend(getattr(node, "workeroutput", {}).get("measured", ()))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """The measurements, under a heading of their own."""
    lines = config.stash.get(MEASURED, [])
    if lines:
        terminalreporter.section("measured")
    for line in lines:
        terminalreporter.write_line(line)
