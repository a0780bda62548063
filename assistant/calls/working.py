"""The calls that do a job: run, resume, the demo."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from pathlib import Path

from assistant.bench.bay_board import board_beside
from assistant.bench.clock import WallClock
from assistant.bench.equipment import camera_of, chosen_ears, load_ears
from assistant.bench.hearing import Ears
from assistant.bench.known_words import tell_lacking, words_of
from assistant.bench.learnt_voice import names_for_record, with_voice
from assistant.bench.recorded import PlainTechnician
from assistant.bench.running import Session, run_live, run_recorded
from assistant.bench.sheet_checking import in_the_bay
from assistant.bench.starting import follower_of, open_job, readings_of, resume_job
from assistant.bench.transcript import Transcript
from assistant.calls.printing import print_line
from assistant.core.labels.faults import LabelFault
from assistant.core.labels.hull_number import read_hull_number
from assistant.core.problems import CallProblem
from assistant.core.proof import prove
from assistant.core.state import State
from assistant.devices.recognisers.choosing import EarsChosen
from assistant.devices.voice.conversation import ConversationTrack
from assistant.files.job_file import JobFile
from assistant.files.model_store import models_root
from assistant.files.voices import voices_root
from assistant.files.work import Work, read_work, work_in
from assistant.settings import Settings, find_settings

Begin = Callable[[], tuple[JobFile, State]]


def run(args: Namespace) -> int:
    """Do a job: read each step aloud, take spoken readings, look at labels, keep everything in the job file."""
    settings = find_settings(args.settings)
    work = read_work(args.procedure, args.machine, args.site)
    print_line(f"site: {work.site.shop}")
    _say_looked_up(work)
    _say_number(args.number)
    path = args.job or Path(f"{datetime.now():%Y-%m-%d}-{work.sheet.model.lower().replace(' ', '-')}.job")
    _check_new(path)
    earlier = readings_of(args.last_season) if args.last_season else ()
    _check_parts(args)
    chosen, ears = _ears(args, settings, work)

    def begin() -> tuple[JobFile, State]:
        names, technician = names_for_record(ears, chosen), _technician(args, settings)
        keeps_sound = settings.keep_sound and not args.no_sound
        whose = {"customer": args.customer, "number": args.number}
        return open_job(path, work, WallClock(), names, technician, earlier, **whose, keeps_sound=keeps_sound)

    return _work(args, path, _session(args, begin, ears, settings, work))


def resume(args: Namespace) -> int:
    """Carry on with a job at the step that was open. Everything is read from the job file itself."""
    settings = find_settings(args.settings)
    with JobFile.open(args.job, read_only=True) as job_file:
        work = work_in(job_file)  # a wrong or broken job is told before any device is opened
    _check_parts(args)
    chosen, ears = _ears(args, settings, work)

    def begin() -> tuple[JobFile, State]:
        return resume_job(args.job, WallClock(), names_for_record(ears, chosen), _technician(args, settings))

    return _work(args, args.job, _session(args, begin, ears, settings, work))


def _session(args: Namespace, begin: Begin, ears: Ears, settings: Settings, work: Work) -> Session:
    return Session(
        begin,
        ears,
        camera_of(args.eyes, settings),
        settings,
        _watchers(),
        window=args.window,
        language=work.site.language,
        follow=partial(follower_of, work),
    )


def _say_looked_up(work: Work) -> None:
    """Which numbers the technician will look up. CallProblem where the whole, with that, is not safe to follow."""
    if work.look_ups is None:
        return
    print_line(in_the_bay(tuple(need.name for need in work.look_ups.needs)))
    proof = prove(work.procedure)
    if not proof.ok:
        raise CallProblem(
            "the procedure is not safe to follow", where=work.procedure.file, do="see why with layup prove"
        )


def _ears(args: Namespace, settings: Settings, work: Work) -> tuple[EarsChosen, Ears]:
    """The ears of this job, and why these; what they lack is told."""
    chosen = with_voice(
        chosen_ears(settings, models_root(), work.site.language), _technician(args, settings), voices_root()
    )
    say_which(chosen)
    ears = load_ears(chosen)
    say_lacking(ears, settings, work)
    return chosen, ears


def _say_number(number: str) -> None:
    """A number of a hull number's length that is none is asked about, once: it may be another kind of number."""
    if len(number.strip()) not in (12, 14, 15):
        return
    read = read_hull_number(number, date.today())
    if isinstance(read, LabelFault):
        print_line(f"number {number}: {read.sentence}; if it is no hull number, all is well")


def _technician(args: Namespace, settings: Settings) -> str:
    """Who does the job: as the call says, else as the settings say."""
    named: str = settings.technician if args.technician is None else args.technician
    return " ".join(named.split())


def say_which(chosen: EarsChosen) -> None:
    """Which ears hear, and why."""
    print_line(chosen.why)


def say_lacking(ears: Ears, settings: Settings, work: Work) -> None:
    """Which of the job's words another Vosk model lacks; ours is not asked, since to gather them all takes seconds."""
    if settings.vosk_model:
        for text in tell_lacking(ears, words_of(work, date.today())):
            print_line(text)


def _watchers() -> tuple[Transcript, ...]:
    return (Transcript(print_line),)


def _check_new(path: Path) -> None:
    """A job file can be made there, as far as can be known before any device is opened."""
    if path.exists():
        raise CallProblem("there is a file of that name already", where=str(path), do="name another, or resume it")
    _check_folder(path)


def _check_folder(path: Path) -> None:
    if not path.parent.is_dir():
        raise CallProblem("there is no such folder", where=str(path.parent), do="make it, or name another")


def _check_parts(args: Namespace) -> None:
    """What can be known to be wrong before anything is begun."""
    if args.ears == ["mic"]:
        if args.voice not in ("speaker", "silent"):
            raise CallProblem(
                "only recordings can be rendered", where="--voice", do="give recordings with --ears WAV..."
            )
        return
    PlainTechnician([Path(name) for name in args.ears])
    if args.voice == "speaker":
        args.voice = "silent"
    if args.voice != "silent" and Path(args.voice).suffix.lower() not in (".wav", ".flac"):
        raise CallProblem(f"{args.voice!r} is no voice", where="--voice", do="say speaker, silent, or FILE.wav")
    _check_folder(Path(args.voice))


def _work(args: Namespace, job: Path, session: Session) -> int:
    print_line(f"job file: {job}")
    with board_beside(job) as board:
        why = _worked(args, replace(session, watchers=(*session.watchers, board)))
    print_line(f"ended: {why}; job file: {job}")
    return 0


def _worked(args: Namespace, session: Session) -> str:
    if args.ears == ["mic"]:
        return run_live(session, silent=args.voice == "silent")
    track = None if args.voice == "silent" else ConversationTrack(0.0)
    why = run_recorded(session, PlainTechnician([Path(name) for name in args.ears]), track)
    if track is not None:
        track.write(Path(args.voice))
    return why


def demo(args: Namespace) -> int:
    """A whole short job of our own: recorded lines, label pictures, one power cut, everything real but the hands."""
    from assistant.measure.demo import run_demo

    return run_demo(args.out, find_settings(args.settings), quiet=args.quiet, line=print_line)
