"""The calls on machine sheets: sheet new, sheet check."""

from __future__ import annotations

from argparse import Namespace
from datetime import date

from assistant.bench.sheet_checking import check_sheet, shop_of
from assistant.bench.sheet_filling import Talk, fill_sheet
from assistant.calls.printing import print_line
from assistant.core.sheet_needs import needs_of
from assistant.files.procedure_file import load_procedure
from assistant.files.shipped import PROCEDURE, find_file


def sheet_new(args: Namespace) -> int:
    """Make a machine sheet, or go on with one: asks for each number that the procedure wants, one by one, with its page.

    Each answer is looked at and written at once; an empty one leaves the number out. Ctrl-C ends it: what was answered is in
    the file, and the same call goes on with what is missing. Answers may also come from standard input, one a line.
    """
    procedure = load_procedure(find_file(args.procedure, PROCEDURE))
    needs = needs_of(procedure, shop_of(args.procedure, args.site).values)
    talk = Talk(input, print_line)
    try:
        told = fill_sheet(args.output, procedure, needs, talk, date.today())
    except KeyboardInterrupt:
        print_line(f"\nstopped; what was answered is in {args.output}: the same call goes on")
        return 130
    print_line(told)
    return 0


def sheet_check(args: Namespace) -> int:
    """Look at a machine sheet: its form, and numbers that may be a slip. With --procedure also whether it gives all that this
    wants. Questions are told, and stand in no one's way; status 1 where something is wrong or missing."""
    found = check_sheet(args.file, args.procedure, args.site)
    print_line(found.text())
    return 0 if found.ok else 1
