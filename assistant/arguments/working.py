"""Arguments of the calls that do a job."""

from __future__ import annotations

import argparse
from pathlib import Path

from assistant import calls
from assistant.arguments.common import Commands, machine_arguments


def add_working(commands: Commands) -> None:
    """run, resume, enrol, demo."""
    run = commands.add_parser("run", help="do a job: a procedure on a machine", description=calls.run.__doc__)
    run.add_argument("procedure", type=Path, metavar="PROCEDURE")
    machine_arguments(run, needed=True)
    run.add_argument(
        "--customer", default="", metavar="NAME", help="whose machine it is, for the sheet and the list of jobs"
    )
    run.add_argument("--number", default="", metavar="NUMBER", help="the machine's own: hull, frame or serial number")
    run.add_argument("--job", type=Path, metavar="FILE", help="job file to make (default: date and machine, .job)")
    run.add_argument(
        "--last-season",
        type=Path,
        metavar="JOB",
        help="the machine's job of last season: a surprising value is asked about",
    )
    run.add_argument("--no-sound", action="store_true", help="keep words alone, no sound (settings: keep_sound)")
    _parts(run)
    run.set_defaults(call=calls.run)
    resume = commands.add_parser("resume", help="carry on at the step that was open", description=calls.resume.__doc__)
    resume.add_argument("job", type=Path, metavar="JOB")
    _parts(resume)
    resume.set_defaults(call=calls.resume)
    _add_enrol(commands)
    demo = commands.add_parser("demo", help="a whole job with recorded lines", description=calls.demo.__doc__)
    demo.add_argument("--out", type=Path, default=Path("demo/out"), help="where to write (default: demo/out)")
    demo.add_argument("--quiet", action="store_true", help="do not print the conversation while it goes on")
    demo.set_defaults(call=calls.demo)


def _add_enrol(commands: Commands) -> None:
    enrol = commands.add_parser(
        "enrol", help="learn a technician's voice, if that helps", description=calls.enrol.__doc__
    )
    enrol.add_argument(
        "name", nargs="?", metavar="NAME", help="the technician, as --technician of run names him or her"
    )
    enrol.add_argument(
        "--ears",
        nargs="+",
        default=["mic"],
        metavar="mic|WAV|FOLDER",
        help="the microphone; a recording for each prompt in order; or a folder with a manifest.csv (path, words, speaker)",
    )
    enrol.add_argument(
        "--voice",
        default="speaker",
        choices=("speaker", "silent"),
        help="prompts are said, or only shown (default: said)",
    )
    enrol.add_argument("--prompts", action="store_true", help="only list the prompts (needs no NAME)")
    enrol.add_argument("--forget", action="store_true", help="remove what was learnt of that voice")
    enrol.set_defaults(call=calls.enrol)


def _parts(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--technician", metavar="NAME", help="who does it, for the record (default: technician of the settings)"
    )
    parser.add_argument(
        "--ears",
        nargs="+",
        default=["mic"],
        metavar="mic|WAV",
        help="the microphone, or recordings one after the other",
    )
    parser.add_argument(
        "--eyes",
        nargs="+",
        default=[],
        metavar="CAMERA|IMAGE",
        help="a camera's number, a video, or one picture for each part",
    )
    parser.add_argument("--window", action="store_true", help="show what the camera sees while it looks for a label")
    parser.add_argument(
        "--voice",
        default="speaker",
        metavar="speaker|silent|FILE.wav",
        help="loudspeaker; only text; or, with recordings, the whole conversation into a sound file",
    )
