"""An amendment on the job file itself: the foreman's entry, and those that it makes stand again with another verdict."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from assistant.core.amending import amendment, judged_again
from assistant.core.entries import Kept
from assistant.core.job import apply, fold
from assistant.files.job_file import JobFile
from assistant.files.work import state_of, work_in


def amend(job_file: JobFile, at: str, sequence: int, value: str, reason: str, who: str) -> tuple[Kept, ...]:
    """Append it at that time (UTC, `chain.AT_FORM`); what was appended, the amendment first.

    Raises CallProblem as `amendment` does, and then adds nothing.
    """
    plain = state_of(work_in(job_file), date.fromisoformat(at[:10]))
    state = replace(plain, job=fold(job_file.entries()))
    entry = amendment(state, sequence, value, reason, who)
    kept = job_file.append(entry, at)
    state = replace(state, job=apply(state.job, kept))
    return (kept, *(job_file.append(again, at) for again in judged_again(state, entry)))
