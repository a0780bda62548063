"""Texts that somebody might put into a job file who means harm: markup, signs that hide or turn, numbers that are none, times
that never were, YAML that grows when it is read, and clips that are pages.
"""

from __future__ import annotations

from assistant.measure.review_sounds import FLAC, PNG

MARKUP = (
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "' onmouseover='alert(1)", "</textarea><script>1</script>",
    "</style><style>*{display:none}</style>", "<svg/onload=alert(1)>", "javascript:alert(1)", "{{ 7 * 7 }}{% raw %}", "<!--",
    "]]><b>x</b>", "&lt;script&gt;&#60;b&#62;", "<a href=javascript:x>y</a>", "<p hx-get=/logout hx-trigger=load>z</p>",
)  # fmt: skip
ODD_SIGNS = (
    "\u202eright to left\u2066", "nul\x00 and \x1b[2J", "\ud800", "\udfff\ud800", "\ufffe\uffff", "line\r\nSet-Cookie: a=b",
    "\u2028\u2029\x85", "e" + "\u0301" * 400, "\U0001d54f" * 300, "=cmd|'/C calc'!A0", "../../../../etc/passwd",
    "%2e%2e%2f\\", "",
    " ", "\u0661\u0662\u0663", "word " * 2000, "w" * 30_000, "a" * 1_000_000,
)  # fmt: skip
NUMBERS = (
    "NaN", "sNaN", "-Infinity", "1e999", "1e-999999", "1e99999999999999", "0e99999999999", "0e-99999999999", "-0",
    "0x10", "1_000",
    "\u0663\u066b\u0665", "9" * 400,
    "0." + "0" * 90 + "1", "1" * 31, "1e11", "-1e11", "0", "188", "12.60", "0.5", "1", "1.0000001",
)  # fmt: skip
NAMES = (
    "survey_1",
    "survey_1.2",
    "pressure_1_1",
    "hull_number",
    "cylinder 1",
    "cylinder 2",
    "finding",
    "note",
    "approved",
)
LIMITS = (
    "at least 175 psi", "175 psi to 215 psi (manual)", "at least 9e99 psi; lowest within 10 % of highest", "above -1 psi",
    "at least " + "9" * 400 + " psi", "within", "; ".join(["at least 1 psi"] * 200),
)  # fmt: skip
VERDICTS = ("within", "low", "high", "outside", "unsure", "")
TIMES = (
    "9999-12-31T23:59:59.999Z", "0001-01-01T00:00:00.000Z", "2026-02-30T09:00:00.000Z", "2026-10-14T24:00:00.000Z", "now",
    "2026-10-14T09:12:03.250+99:99", "", "<b>", "2026-10-14T09:12:60.000Z", "\u0662026-10-14T09:12:03.250Z",
    "2026-13-01T00:00:00.000Z",
)  # fmt: skip
YAML = (
    "a: &a [x, x, x, x]\nb: &b [*a, *a, *a, *a]\nc: &c [*b, *b, *b, *b]\nd: [*c, *c, *c]\nmodel: *c\ntitle: *c",
    "\n".join(["a0: &a0 {k: v}", *(f"a{n}: &a{n} {{<<: [{', '.join([f'*a{n - 1}'] * 9)}]}}" for n in range(1, 9))]),
    "&a {<<: *a}", "title: &t\n  <<: *t\n", "[" * 30_000, "{a: " * 20_000,
    "a:\n" + "".join(" " * n + "a:\n" for n in range(1, 400)),
    "model: 0x" + "f" * 20_000, "title: " + "9" * 20_000, "model: !!python/object/apply:os.system [id]", "title: 2026-99-99",
    "title: !!binary ====", "\t", "\x00", "title: [", "model: <script>alert(1)</script>\ntitle: \"'><b>\"\nshop: <i>",
    "\n".join(f"unknown_{n}: 1" for n in range(20_000)), "? [a]\n: b", "title: 1:2:3:4:5",
    "title: .inf\nmodel: .nan", "- a", "x",
    "steps:\n" + "  - {id: survey_1}\n" * 4000, "steps: [{id: [1], title: {a: b}}, 3, {id: survey_1, title: 7}]",
    "# c\n" * 100_000,
)  # fmt: skip
CLIPS = (
    b"<html><script>alert(1)</script>", b"<?xml version='1.0'?><svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
    b"fLaC<script>alert(1)</script>", PNG + b"<script>alert(1)</script>", b"", b"GIF89a", b"%PDF-1.7", b"\xff\xd8\xff<html>",
    b"RIFF\x24\0\0\0WAVE", b"\0" * 100, FLAC, PNG,
)  # fmt: skip
