"""One computed figure as text to read, or as JSON: the answer, its working line by line, and the source."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches

from assistant.core.problems import CallProblem
from assistant.core.trade.figure import Answer, Figure
from assistant.core.trade.inputs import Computation
from assistant.core.trade.registry import BY_NAME, ROOMS
from assistant.core.trade.written import inputs_from
from assistant.core.units import Amount, plain

DEFER = "The machine's service manual, local codes and licensed practice go before any figure here."


def work_figure(name: str, pairs: Sequence[str]) -> Figure:
    """Compute by name from typed inputs. Raises CallProblem saying what is wrong with which input."""
    found = computation_named(name)
    try:
        return found(**inputs_from(found, pairs))
    except ValueError as problem:
        raise CallProblem(str(problem), where=name, do=f"`layup figure {name}` tells what it takes") from problem


def computation_named(name: str) -> Computation:
    """The computation of that name. Raises CallProblem with a suggestion."""
    if name in BY_NAME:
        return BY_NAME[name]
    near = get_close_matches(name, BY_NAME, 3)
    do = f"did you mean {' or '.join(near)}?" if near else "`layup figure` lists them"
    raise CallProblem(f"there is no computation '{name}'", where="NAME", do=do)


def figure_text(figure: Figure) -> str:
    """For a person: working, answer, what stands beside it, cautions, sources."""
    lines = [f"  {line}" for line in figure.working]
    lines += [f"= {figure.answer}" + (f" ({figure.verdict})" if figure.verdict else "")]
    lines += [f"  {name.replace('_', ' ')}: {answer}" for name, answer in figure.beside]
    lines += [f"caution: {caution}" for caution in figure.cautions]
    lines += [f"source: {source}" for source in figure.sources]
    return "\n".join([*lines, DEFER])


def figure_json(name: str, figure: Figure) -> dict[str, object]:
    """One object; amounts as decimal text and unit, so that nothing is rounded."""
    return {
        "name": name,
        "answer": _answer(figure.answer),
        "verdict": figure.verdict,
        "beside": {key: _answer(answer) for key, answer in figure.beside},
        "working": list(figure.working),
        "cautions": list(figure.cautions),
        "sources": list(figure.sources),
    }


def _answer(answer: Answer) -> object:
    return {"value": plain(answer.value), "unit": answer.unit} if isinstance(answer, Amount) else answer


def computations_text() -> str:
    """All computations, by topic, each with its first sentence."""
    lines = []
    for topic, room in ROOMS.items():
        lines.append(f"{topic}:")
        lines += [f"  {f.__name__:34} {BY_NAME[f.__name__].summary}" for f in room.COMPUTATIONS]
    return "\n".join(lines)


def inputs_text(name: str) -> str:
    """What one computation takes, and what it gives."""
    found = computation_named(name)
    return "\n".join([found.summary, *(f"  {i.told()}" for i in found.inputs)])
