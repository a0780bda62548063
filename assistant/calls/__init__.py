"""One function a command: build the real parts, call one function, print. `cli` says which arguments each takes."""

from __future__ import annotations

from assistant.calls.answering import bundle, export, forget, keys, sign
from assistant.calls.learning import enrol
from assistant.calls.looking import figure, hear, parse, prove, scan, schemas
from assistant.calls.measuring import devices, measure, models
from assistant.calls.printing import print_line
from assistant.calls.records import amend, hearback, parts, report, seasons, verify
from assistant.calls.rehearsing import rehearse
from assistant.calls.reviewing import review, users
from assistant.calls.sheets import sheet_check, sheet_new
from assistant.calls.working import demo, resume, run

__all__ = [
    "amend",
    "bundle",
    "demo",
    "devices",
    "enrol",
    "export",
    "figure",
    "forget",
    "hear",
    "hearback",
    "keys",
    "measure",
    "models",
    "parse",
    "parts",
    "print_line",
    "prove",
    "rehearse",
    "report",
    "resume",
    "review",
    "run",
    "scan",
    "schemas",
    "seasons",
    "sheet_check",
    "sheet_new",
    "sign",
    "users",
    "verify",
]
