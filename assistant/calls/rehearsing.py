"""The call that walks a procedure through as text."""

from __future__ import annotations

import json
import sys
from argparse import Namespace
from collections.abc import Callable
from datetime import date

from assistant.bench.going_well import GoingWell
from assistant.bench.rehearsing import Scripted, Walk
from assistant.bench.typed_answers import Typed
from assistant.calls.printing import print_line
from assistant.core.expected_time import Pace
from assistant.core.problems import CallProblem
from assistant.files.answers_file import load_answers
from assistant.files.work import Work, read_work
from assistant.reports.rehearsal import Line
from assistant.reports.rehearsal_text import Conversation, after_json, after_text, line_json
from assistant.reports.wall_card import Subject, check_name, write_card
from assistant.settings import find_settings


def rehearse(args: Namespace) -> int:
    """Walk a procedure through as text: no microphone, no voice, no job file. What is not answered goes well by itself.

    Status 1 where a line of the answers was not understood or never said, or where the job did not come to its end.
    """
    settings = find_settings(args.settings)
    if args.typed and args.answers:
        raise CallProblem("answers are either typed or read", where="--typed", do="leave --typed or --answers out")
    work = read_work(args.procedure, args.machine, args.site)
    if args.output:
        check_name(args.output)
    technician = _technician(args, work)
    walk = Walk(work, technician, date.today(), _line_printer(args, work))
    done = walk.run(Pace(settings.words_per_minute, settings.end_of_speech_s))
    pages = (
        write_card(Subject(work.procedure, work.sheet, work.site.shop, date.today()), args.output) if args.output else 0
    )
    if args.json:
        for row in after_json(done):
            print_line(json.dumps(row, ensure_ascii=False))
    else:
        for text in after_text(done):
            print_line(text)
    if pages and not args.json:
        print_line(f"wall card: {args.output}, {pages} page{'s' if pages > 1 else ''}")
    return 0 if done.went_well else 1


def _technician(args: Namespace, work: Work) -> Scripted | Typed:
    going_well = GoingWell(work.sheet.values)
    if args.typed:
        return Typed(iter(sys.stdin), going_well, lambda text: print(f"  {text}", file=sys.stderr))
    answers = load_answers(args.answers, work.procedure) if args.answers else {}
    return Scripted(answers, going_well, work.procedure)


def _line_printer(args: Namespace, work: Work) -> Callable[[Line], None]:
    conversation = Conversation(work.procedure)

    def tell(line: Line) -> None:
        if args.json:
            print_line(json.dumps(line_json(line), ensure_ascii=False))
            return
        for text in conversation.texts(line):
            print_line(text)

    return tell
