"""`layup`: arguments and settings in, real parts built, one function called. No logic.

Exit status: 0 all is well; 1 the thing looked at is not; 2 the call was wrong. Errors are lines on standard error that say
what, where, and what to do; never a traceback.
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TypeAlias

try:  # half a second: Ctrl-C may come as soon
    from assistant import calls
    from assistant.core.entries import REASONS
    from assistant.core.problems import LayupProblem
except KeyboardInterrupt:
    print("layup: stopped", file=sys.stderr)
    sys.exit(130)

EPILOG = """examples
  layup demo                                        hear and see a whole job, no hardware needed
  layup run pwc-off-season --machine tern-3 --site our-shop --job 1234.job      shipped files go by bare names
  layup resume 1234.job                             after a power cut, or tomorrow
  layup verify 1234.job && layup report 1234.job -o 1234.html
  layup COMMAND --help                              each command explains itself
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """The entry point; the exit status."""
    args = _parser().parse_args(arguments)
    if arguments is None:
        signal.signal(signal.SIGTERM, _end)
    try:
        return int(args.call(args))
    except LayupProblem as problem:
        print(f"layup: {problem}", file=sys.stderr)
        return problem.exit_status
    except KeyboardInterrupt:
        kept = "; what was spoken as kept is in the job file" if args.call in (calls.run, calls.resume) else ""
        print(f"layup: stopped{kept}", file=sys.stderr)
        return 130
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # else Python complains at exit
        return 0


def _end(_signal: int, _frame: object) -> None:
    """Told to end: as with Ctrl-C, everything is closed on the way out."""
    raise KeyboardInterrupt


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="layup",
        description="An offline voice-and-barcode bench assistant for laying up small craft and engines.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--settings", type=Path, help="settings file (default: ./layup.toml, then ~/.config/layup/)")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _add_work(commands)
    _add_looking(commands)
    _add_files(commands)
    _add_machine(commands)
    return parser


Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def _add_work(commands: Commands) -> None:
    run = commands.add_parser("run", help="do a job: a procedure on a machine", description=calls.run.__doc__)
    run.add_argument("procedure", type=Path, metavar="PROCEDURE")
    _machine(run, needed=True)
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


def _machine(parser: argparse.ArgumentParser, *, needed: bool) -> None:
    parser.add_argument("--machine", type=Path, required=needed, metavar="SHEET", help="the machine sheet")
    parser.add_argument(
        "--site", type=Path, metavar="SITE", help="the shop's site sheet (default: the only one beside the procedure)"
    )


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


def _add_looking(commands: Commands) -> None:
    hear = commands.add_parser("hear", help="what recordings would mean at a step", description=calls.hear.__doc__)
    hear.add_argument("procedure", type=Path, metavar="PROCEDURE")
    hear.add_argument("step", metavar="STEP")
    hear.add_argument("sounds", type=Path, nargs="+", metavar="WAV")
    _machine(hear, needed=True)
    _json(hear)
    hear.set_defaults(call=calls.hear)
    parse = commands.add_parser("parse", help="what a sentence would mean at a step", description=calls.parse.__doc__)
    parse.add_argument("procedure", type=Path, metavar="PROCEDURE")
    parse.add_argument("step", metavar="STEP")
    parse.add_argument(
        "words", nargs="+", metavar="WORDS", help="one sentence a WORDS; - reads lines from standard input"
    )
    _machine(parse, needed=True)
    _json(parse)
    parse.set_defaults(call=calls.parse)
    scan = commands.add_parser("scan", help="what the labels in pictures say", description=calls.scan.__doc__)
    scan.add_argument("images", type=Path, nargs="+", metavar="IMAGE")
    _json(scan)
    scan.set_defaults(call=calls.scan)
    prove = commands.add_parser("prove", help="check procedure files", description=calls.prove.__doc__)
    prove.add_argument("procedures", type=Path, nargs="+", metavar="PROCEDURE")
    _machine(prove, needed=False)
    prove.add_argument("--sounds", action="store_true", help="what sounds alike at each step (needs --machine)")
    _json(prove)
    prove.set_defaults(call=calls.prove)
    _add_figure(commands)


def _add_figure(commands: Commands) -> None:
    figure = commands.add_parser(
        "figure", help="a trade computation, with its working and source", description=calls.figure.__doc__
    )
    figure.add_argument("name", nargs="?", metavar="NAME", help="which computation (none: list them)")
    figure.add_argument("inputs", nargs="*", metavar="NAME=VALUE", help="what it takes (none: tell what that is)")
    _json(figure)
    figure.set_defaults(call=calls.figure)


def _json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--json", action="store_true", help="one JSON object a line on standard output, nothing else there"
    )


def _add_files(commands: Commands) -> None:
    verify = commands.add_parser("verify", help="is a job file whole and unchanged", description=calls.verify.__doc__)
    verify.add_argument("jobs", type=Path, nargs="+", metavar="JOB")
    verify.add_argument("--key", type=Path, metavar="PEM", help="it must be signed with this public key")
    _json(verify)
    verify.set_defaults(call=calls.verify)
    report = commands.add_parser("report", help="a job as a page or a table", description=calls.report.__doc__)
    report.add_argument("job", type=Path, metavar="JOB")
    report.add_argument(
        "-o", "--output", type=Path, required=True, metavar="FILE", help="FILE.html, FILE.csv or FILE.json"
    )
    report.set_defaults(call=calls.report)
    amend = commands.add_parser(
        "amend", help="the foreman puts another value in the place of a kept one", description=calls.amend.__doc__
    )
    amend.add_argument("job", type=Path, metavar="JOB")
    amend.add_argument("sequence", type=int, metavar="ENTRY", help="the number of the entry, as the report has it")
    amend.add_argument("--value", required=True, help="what is right: 188, '13 bar', 'one eighty eight', a choice")
    amend.add_argument("--reason", required=True, help=f"{', '.join(REASONS)}, or other words")
    amend.add_argument("--who", required=True, metavar="NAME", help="who amends it")
    amend.set_defaults(call=calls.amend)
    _add_answering(commands)
    _add_hearback(commands)
    _add_seasons(commands)
    _add_parts(commands)


def _add_answering(commands: Commands) -> None:
    """What is done to a job when the work is over."""
    keys = commands.add_parser("keys", help="the keys that sign; make NAME", description=calls.keys.__doc__)
    keys.add_argument("make", nargs="*", metavar="make NAME", help="make a key, under a passphrase")
    _passphrase(keys)
    keys.set_defaults(call=calls.keys)
    sign = commands.add_parser("sign", help="answer for a job with a signature", description=calls.sign.__doc__)
    sign.add_argument("job", type=Path, metavar="JOB")
    sign.add_argument("--who", required=True, metavar="NAME", help="who signs it")
    sign.add_argument("--key", metavar="NAME|FILE", help="another key than the one called NAME")
    _passphrase(sign)
    sign.set_defaults(call=calls.sign)
    forget = commands.add_parser("forget", help="remove the sound of jobs for good", description=calls.forget.__doc__)
    forget.add_argument("jobs", type=Path, nargs="+", metavar="JOB")
    which = forget.add_mutually_exclusive_group(required=True)
    which.add_argument("--clips", action="store_true", help="of each job named")
    which.add_argument("--due", action="store_true", help="of those older than keep_clips_days of the settings")
    forget.add_argument("--who", default="", metavar="NAME", help="who asked for it, for the record")
    forget.set_defaults(call=calls.forget)
    bundle = commands.add_parser("bundle", help="a zip to check without the program", description=calls.bundle.__doc__)
    bundle.add_argument("job", type=Path, metavar="JOB")
    bundle.add_argument("-o", "--output", type=Path, metavar="FILE", help="FILE.zip (default: the job's name)")
    bundle.set_defaults(call=calls.bundle)
    export = commands.add_parser("export", help="a job's entries as JSON lines", description=calls.export.__doc__)
    export.add_argument("job", type=Path, metavar="JOB")
    export.add_argument("--jsonl", action="store_true", required=True, help="one JSON object a line")
    export.set_defaults(call=calls.export)


def _passphrase(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--passphrase-file", type=Path, metavar="FILE", help="its first line (else LAYUP_PASSPHRASE, else asked)"
    )


def _add_seasons(commands: Commands) -> None:
    seasons = commands.add_parser(
        "seasons", help="a machine's readings season by season", description=calls.seasons.__doc__
    )
    seasons.add_argument("jobs", type=Path, nargs="+", metavar="JOB", help="job files of one machine, in any order")
    seasons.add_argument(
        "--reading", default="", metavar="NAME", help="only this reading (default: all that is measured)"
    )
    seasons.add_argument(
        "--hours",
        default="",
        metavar="NAME",
        help="the reading of the engine hours, where it is called otherwise than hours",
    )
    seasons.add_argument("-o", "--output", type=Path, metavar="FILE", help="draw them too: FILE.svg")
    _json(seasons)
    seasons.set_defaults(call=calls.seasons)


def _add_parts(commands: Commands) -> None:
    parts = commands.add_parser(
        "parts", help="parts used in a folder's jobs, by part and lot", description=calls.parts.__doc__
    )
    parts.add_argument("folder", type=Path, metavar="FOLDER", help="where the job files lie")
    parts.add_argument("--lot", default="", metavar="LOT", help="only this lot: which machines got it")
    parts.add_argument(
        "--learnt", action="store_true", help="what was affirmed and is in no sheet, as lines for the sheet"
    )
    _json(parts)
    parts.set_defaults(call=calls.parts)


def _add_hearback(commands: Commands) -> None:
    hearback = commands.add_parser(
        "hearback", help="hear kept sounds of jobs again, and compare", description=calls.hearback.__doc__
    )
    hearback.add_argument("jobs", type=Path, nargs="+", metavar="JOB")
    hearback.add_argument("--vosk-model", type=Path, metavar="DIR", help="hear with another Vosk model folder")
    hearback.add_argument("--whisper", metavar="DIR|none", help="weigh with another Whisper folder, or with none")
    hearback.add_argument(
        "--with-corrections", action="store_true", help="take a later correction for what was said: it may not be"
    )
    hearback.add_argument("--each", action="store_true", help="each sound too, not only the sums")
    _json(hearback)
    hearback.set_defaults(call=calls.hearback)


def _add_machine(commands: Commands) -> None:
    measure = commands.add_parser("measure", help="benchmarks, with a table", description=calls.measure.__doc__)
    whats = ("loop", "speech", "labels", "jobfile", "faults")
    measure.add_argument("what", choices=whats, metavar="|".join(whats))
    measure.add_argument(
        "--folder",
        type=Path,
        metavar="DIR",
        help="recordings with a manifest.csv (path, words); labels: pictures (path, text; no text: no label there)",
    )
    measure.add_argument("--grammar", default="numbers", metavar="numbers|STEP", help="what may be said (speech)")
    measure.add_argument("--procedure", type=Path, metavar="PROCEDURE", help="whose STEP it is (speech)")
    _machine(measure, needed=False)
    measure.add_argument(
        "--most",
        type=int,
        default=0,
        metavar="N",
        help="at most N recordings of each set, pictures of each kind, strokes of each fault; jobs of at most N entries",
    )
    measure.add_argument("--out", type=Path, metavar="DIR", help="write the tables (.md) and pictures (.svg) there")
    _measuring_speech(measure)
    _json(measure)
    measure.set_defaults(call=calls.measure)
    devices = commands.add_parser(
        "devices", help="microphones, loudspeakers, cameras", description=calls.devices.__doc__
    )
    devices.set_defaults(call=calls.devices)
    models = commands.add_parser(
        "models", help="which ears are used and why; get NAME", description=calls.models.__doc__
    )
    models.add_argument("get", nargs="*", metavar="get NAME", help="fetch, check and unpack a model")
    models.set_defaults(call=calls.models)


def _measuring_speech(measure: argparse.ArgumentParser) -> None:
    speech = measure.add_argument_group("speech")
    speech.add_argument("--noise", default="", metavar="NAME,...", help="also in noise: engine,pink,impacts,ratchet")
    speech.add_argument("--snr", default="", metavar="DB,...", help="speech to noise in dB (default: 20,10,5,0)")
    speech.add_argument("--talk", type=Path, metavar="DIR", help="recordings that are all talk, to be refused")
    speech.add_argument("--each", action="store_true", help="one JSON object a recording instead of one a set")
    speech.add_argument(
        "--data", type=Path, default=Path("../shared/speech"), metavar="DIR", help="without --folder: where an4 lies"
    )
    speech.add_argument("--vosk-model", type=Path, metavar="DIR", help="another Vosk model folder")
    speech.add_argument("--parts", action="store_true", help="where the weighing ear's time goes, instead")
    speech.add_argument(
        "--fit", action="store_true", help="fit the program's own numbers on the tuning speakers, instead"
    )


if __name__ == "__main__":
    sys.exit(main())
