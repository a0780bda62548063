"""An entry in a few words, for the rows that nothing nearer tells of."""

from __future__ import annotations

from assistant.core import entries as e
from assistant.files.verdict import Fault
from assistant.reports.values import spaced, visible


def told_plainly(entry: e.Entry, misfit: Fault | None = None) -> str:
    """What happened, in a line. Texts are as kept: the page escapes them. Where a signature of the file is a `misfit`, none is
    told as one."""
    match entry:
        case e.JobOpened(program=program, technician=technician):
            return _by(f"job opened, {program}", technician)
        case e.JobResumed(program=program, technician=technician):
            return _by(f"job resumed, {program}", technician)
        case e.CautionAnswered(caution=caution):
            return f"caution, answered roger: {caution}"
        case e.ConditionAffirmed(condition=condition, is_now=now):
            return f"affirmed: {spaced(condition)} {spaced(now)}"
        case e.HeardUnclear(reason=reason):
            return f"not understood: {reason}"
        case e.CommandHeard(command=command):
            return f"said: {command}"
        case e.Counted(seconds=seconds):
            return f"counted aloud, {seconds} s"
        case e.StepUnable(reason=reason):
            return f"not done: {reason}"
        case e.StepPassed(condition=condition, is_now=now):
            return f"for other machines: {spaced(condition)} is {spaced(now)}"
        case e.DeviceChanged(device=device, state=state, why=why):
            return f"{device} {state} {why}".strip()
        case e.JobFinished(done=done, unable=unable):
            return f"job finished: {done} done, {unable} unable"
        case _:
            return _of_persons(entry, misfit)


def _of_persons(entry: e.Entry, misfit: Fault | None) -> str:
    match entry:
        case e.PartScanned(symbology=symbology, text=text):
            return f"label read, {symbology} {visible(text)}"
        case e.PhotographKept(name=name):
            return f"photograph, {spaced(name)}"
        case e.QuestionAsked(text=text, who=who):
            return f"asked back by {who}: {text}"
        case e.QuestionAnswered(question=question, words=words, who=who):
            return _by(f"answer to entry {question}: {words or '(in sound)'}", who)
        case e.FindingDecided(finding=finding, decision=decision, by=by, who=who):
            return f"finding of entry {finding}: {decision}, said {by}; written down by {who}"
        case e.EntryUpheld(entry=about, why=why, who=who):
            return f"entry {about} upheld by {who}{f': {why}' if why else ''}"
        case e.JobSigned(who=who) if misfit is not None:
            return f"the entry names {who} for a signature, which is not to be relied on: {misfit.how}"
        case e.JobSigned(who=who, key=key):
            return f"signed by {who}, key {key[:16]}"
        case e.SoundForgotten(clips=clips, why=why):
            return f"the sound of {len(clips)} clips removed: {why}"
        case _:
            return entry.kind


def _by(text: str, who: str) -> str:
    return f"{text}, {who}" if who else text
