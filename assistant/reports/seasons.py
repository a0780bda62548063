"""`layup seasons`: the job files of one machine in, its readings season by season out, as text, JSON and a picture."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Callable

from assistant.reports.season_jobs import read_seasons
from assistant.reports.season_picture import check_name, write_picture
from assistant.reports.season_text import seasons_text, trend_json
from assistant.reports.season_trends import trends_of


def tell_seasons(args: Namespace, line: Callable[[str], None]) -> None:
    """Told before it is drawn, so that nothing is lost where it cannot be. `args` as `layup seasons` has them.

    Raises CallProblem for jobs that do not go together, a reading that is not there, or a picture that cannot be made.
    """
    if args.output:
        check_name(args.output)
    jobs = read_seasons(args.jobs, args.hours)
    trends = trends_of(jobs, args.reading)
    told = (
        [json.dumps(trend_json(trend), ensure_ascii=False) for trend in trends]
        if args.json
        else [seasons_text(jobs, trends)]
    )
    for text in told:
        line(text)
    if args.output:
        write_picture(trends, args.output)
