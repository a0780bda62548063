"""Arguments of the calls on job files."""

from __future__ import annotations

from pathlib import Path

from assistant import calls
from assistant.arguments.answering import add_answering
from assistant.arguments.common import Commands, json_argument
from assistant.core.entries import REASONS


def add_records(commands: Commands) -> None:
    """verify, report, amend and what else is done with job files."""
    verify = commands.add_parser("verify", help="is a job file whole and unchanged", description=calls.verify.__doc__)
    verify.add_argument("jobs", type=Path, nargs="+", metavar="JOB")
    verify.add_argument("--key", type=Path, metavar="PEM", help="it must be signed with this public key")
    json_argument(verify)
    verify.set_defaults(call=calls.verify)
    _add_report(commands)
    amend = commands.add_parser(
        "amend", help="the foreman puts another value in the place of a kept one", description=calls.amend.__doc__
    )
    amend.add_argument("job", type=Path, metavar="JOB")
    amend.add_argument("sequence", type=int, metavar="ENTRY", help="the number of the entry, as the report has it")
    amend.add_argument("--value", required=True, help="what is right: 188, '13 bar', 'one eighty eight', a choice")
    amend.add_argument("--reason", required=True, help=f"{', '.join(REASONS)}, or other words")
    amend.add_argument("--who", required=True, metavar="NAME", help="who amends it")
    amend.set_defaults(call=calls.amend)
    add_answering(commands)
    _add_hearback(commands)
    _add_seasons(commands)
    _add_parts(commands)


def _add_report(commands: Commands) -> None:
    report = commands.add_parser(
        "report", help="a job on paper: for the foreman, the customer, or as a tag", description=calls.report.__doc__
    )
    report.add_argument("job", type=Path, metavar="JOB")
    report.add_argument(
        "-o",
        "--output",
        type=Path,
        required=True,
        metavar="FILE",
        help="FILE.html or FILE.pdf; for the foreman FILE.csv and FILE.json too",
    )
    report.add_argument(
        "--for",
        dest="audience",
        choices=("foreman", "customer", "tag"),
        default="foreman",
        help="who is to read it (default: foreman)",
    )
    report.add_argument("--full-name", action="store_true", help="on the tag, the customer's name and not his initials")
    report.add_argument(
        "--address", metavar="URL", help="of the shop's own pages, for the code on the tag (default: the job's name)"
    )
    report.add_argument(
        "--paper", choices=("a4", "a6"), help="of the tag: a4 with a line to cut along (default), or a6"
    )
    report.add_argument("--next-look", metavar="TEXT", help="on the tag, when somebody looks next (default: a line)")
    report.set_defaults(call=calls.report)


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
    json_argument(seasons)
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
    json_argument(parts)
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
    json_argument(hearback)
    hearback.set_defaults(call=calls.hearback)
