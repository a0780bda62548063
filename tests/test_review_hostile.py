"""Job files made by somebody who means harm, names and addresses that lead elsewhere: told in words, shown as text, or 404."""

from __future__ import annotations

import os
import random
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from urllib.parse import quote

import pytest
import tinyhtml5
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.core import entries as e
from assistant.core.entries.shape import entry_of
from assistant.core.job import fold
from assistant.core.problems import CallProblem, JobFileBroken, LayupProblem
from assistant.files.chain import canonical
from assistant.files.verify import verify
from assistant.measure.job_damage import tamper
from assistant.measure.review_bodies import any_body
from assistant.measure.review_client import Answer, Client
from assistant.measure.review_fuzz import MOST_CPU_S, NAMES, Fuzzed, fuzz_folder
from assistant.measure.review_html import strange, vocabulary
from assistant.measure.review_jobs import (
    PICTURE,
    SOUND,
    Blob,
    Draft,
    chained,
    draft,
    opened,
    small_entries,
    taken,
    write_job,
    write_rows,
)
from assistant.measure.review_texts import CLIPS, MARKUP, NUMBERS, TIMES, YAML
from assistant.reports.figures.told import GREATEST, number_of
from assistant.reports.job_report import report_of
from assistant.reports.open_items import open_items
from assistant.review.untrusted import LONGEST_BODY_BYTES, MOST_ENTRIES, MOST_SIGNATURES, entries_in
from tests.job_samples import any_entry

CHANCE = random.Random(26)
PAGES = ("", "?order=open", "?order=time", "/figures", "/sign", "/papers/customer", "/papers/foreman", "/papers/tag")
FILES = 100
"""Fuzzed with the suite; `layup measure review --fuzz 10000` does the same with 10,000."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    found = tmp_path / "jobs"
    found.mkdir()
    return found


@pytest.fixture
def client(folder: Path) -> Iterator[Client]:
    with Client(folder) as made:
        yield made
        assert not made.told, made.told


def texts_of(html: str) -> str:
    """All text of the page, as an HTML 5 parser (WHATWG, "Parsing HTML documents") finds it."""
    return "".join(tinyhtml5.parse(html).itertext())


# Fuzzed


@pytest.mark.parametrize("start", range(0, FILES, 20))
def test_no_hostile_file_brings_a_fault_markup_a_header_or_a_hang(start: int) -> None:
    done: Fuzzed = fuzz_folder(start, start + 20)
    assert done.files == 20
    assert not done.faults, done.faults[:5]
    assert set(done.answers) <= {200, 206, 303, 400, 404, 416, 422}


def test_the_campaign_finds_what_is_wrong(folder: Path) -> None:
    """Its judge can fail: markup in a page, a script, an address of somebody else's, a style are each seen."""
    for bad, what in (
        ("<p><script>1</script></p>", "script"),
        ("<p onclick='x'>", "attributes"),
        ("<marquee>", "elements"),
        ("<a href='javascript:x'>", "address"),
        ("<a href='//other.example/'>", ""),
        ("<p style='x'>", "attributes"),
        ("<!-- -->", "comment"),
        ("<img src='https://other.example/x.png'>", "address"),
        ("<style></style><style></style>", "style sheet"),
    ):
        assert what in strange(f"<!doctype html><title>x</title>{bad}"), bad
    assert not strange("<!doctype html><title>x</title><p class='quiet'>&lt;script&gt;</p>")


def test_two_parsers_find_the_same_in_a_page_of_hostile_texts(folder: Path, client: Client) -> None:
    """Python's own parser, which the campaign uses, and one that goes by the HTML standard (tinyhtml5)."""
    entries = [opened(CHANCE), *(e.RemarkKept("survey_1", "finding", text) for text in MARKUP)]
    entries += [taken("survey_1", text, text, "188", CHANCE, limit=text, words=text) for text in MARKUP]
    write_job(folder / "markup.job", entries)
    elements, pairs = vocabulary()
    for end in (*PAGES, "/entries/5"):
        html = client.get(f"/jobs/markup{end}").text
        assert not strange(html)
        found = [one for one in tinyhtml5.parse(html).iter() if isinstance(one.tag, str)]
        names = {one.tag.rpartition("}")[2] for one in found}
        assert names <= elements | {"html", "head", "body"}
        attributes = {
            (one.tag.rpartition("}")[2], key.rpartition("}")[2].lower()) for one in found for key in one.attrib
        }
        assert attributes <= pairs
    shown = texts_of(client.get("/jobs/markup?order=time").text)
    assert all(text in shown for text in MARKUP)


# Bodies


@given(any_entry())
def test_what_an_entry_says_is_read_back_the_same(entry: e.Entry) -> None:
    assert e.entry_from(entry.kind, entry.version, entry.body()) == entry


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(sorted(e.KINDS)), st.data())
def test_a_body_of_another_type_is_never_an_entry(kind: str, data: st.DataObject) -> None:
    """Any JSON in the place of any field: ValueError, or an entry of which every field is of its type."""
    body = any_body(e.KINDS[kind], random.Random(1))
    body = {name: "x" if isinstance(value, str) else value for name, value in body.items()}
    json_value = st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(st.characters(codec=None), max_size=3),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
        max_leaves=5,
    )
    if not body:
        return
    body[data.draw(st.sampled_from(sorted(body)))] = data.draw(json_value)
    try:
        entry = entry_of(e.KINDS[kind], e.KINDS[kind].version, body)
    except ValueError:
        return
    canonical(entry.body())  # whatever has passed has a form in the file
    assert entry.body() == body


@pytest.mark.parametrize(
    "body",
    ["", "null", "[]", "{", "[" * 200_000 + "]" * 200_000, '{"step":' * 9000 + "1" + "}" * 9000, '{"step":' + "9" * 5000 + "}",
     '{"step": NaN, "unsure": []}', '{"step": "\\ud800", "unsure": []}', '{"step": 1, "unsure": []}',
     '{"step": "x", "unsure": "y"}', '{"step": "x", "unsure": [1]}', '{"step": "x"}', '{"step": "x", "unsure": [], "more": 1}'],
    ids=lambda body: body[:24],
)  # fmt: skip
def test_a_body_that_is_none_is_told_with_its_entry(folder: Path, client: Client, body: str) -> None:
    write_job(folder / "odd.job", [opened(CHANCE), Draft("step opened", 1, body)])
    for end in PAGES:
        answer = client.get(f"/jobs/odd{end}")
        assert answer.status in (400, 422)
        assert "entry 2" in answer.text or "an entry has" in answer.text
    assert "cannot be read" in client.get("/").text


@pytest.mark.parametrize("at", [time for time in TIMES if time])
def test_a_time_that_is_none_is_told_and_one_that_is_absurd_is_shown(folder: Path, client: Client, at: str) -> None:
    write_job(folder / "when.job", [draft(opened(CHANCE), at=at), draft(e.StepOpened("survey_1"))])
    absurd = at in ("9999-12-31T23:59:59.999Z", "0001-01-01T00:00:00.000Z")
    for end in PAGES:
        assert client.get(f"/jobs/when{end}").status == (200 if absurd else 422)
    verify(folder / "when.job")  # says what it says, and does not fall over


@pytest.mark.parametrize("text", YAML, ids=lambda text: text[:18])
def test_yaml_that_grows_or_breaks_costs_its_headings_and_nothing_else(folder: Path, client: Client, text: str) -> None:
    body = opened(CHANCE).body() | {"procedure_text": text, "sheet_text": text, "site_text": text}
    first = e.entry_from("job opened", e.JobOpened.version, body)
    write_job(
        folder / "yaml.job", [first, e.StepOpened("survey_1"), taken("survey_1", "pressure_1_1", "", "188", CHANCE)]
    )
    for end in PAGES:
        answer = client.get(f"/jobs/yaml{end}")
        assert answer.status == (400 if len(text) > 170_000 else 200), answer.text
        assert answer.cpu_s < MOST_CPU_S


@pytest.mark.parametrize("text", NUMBERS)
def test_a_number_is_one_of_the_trade_or_none(text: str) -> None:
    number = number_of(text)
    assert number is None or (number.is_finite() and abs(number) < GREATEST and len(format(number, "f")) < 130)


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(any_entry(), max_size=12))
def test_a_report_is_made_of_any_entries_at_all(entries: list[e.Entry]) -> None:
    """`report_of`, what is open in it and the fold are total on whatever the reader lets through."""
    kept = tuple(e.Kept(n, f"2026-10-14T09:00:{n:02d}.000Z", entry) for n, entry in enumerate(entries, 1))
    report = report_of(kept)
    open_items(report)
    assert report.entries == fold(kept).length == len(kept)


def test_entries_that_name_one_another_in_a_ring_are_shown(folder: Path, client: Client) -> None:
    """Replacing itself, a later one, one another, one that is not there: one may only replace what came before."""
    ring = [
        taken("survey_1", "pressure_1_1", "", str(180 + n), CHANCE, replaces=r) for n, r in enumerate((3, 4, 2, 99, -1))
    ]
    odd = [
        e.QuestionAnswered(99, "x", ""),
        e.EntryUpheld(-5, "", "X"),
        e.FindingDecided(10**9, "later", "", "Y", "never", "X"),
    ]
    write_job(folder / "ring.job", [opened(CHANCE), *ring, *odd])
    for end in PAGES:
        assert client.get(f"/jobs/ring{end}").status == 200
    values = report_of(entries_in(folder / "ring.job")).values
    assert [(v.value, [old.value for old in v.earlier]) for v in values] == [("184", ["180", "181", "182", "183"])]


# Tables


@pytest.mark.parametrize(
    "sql",
    ["CREATE VIEW more AS SELECT 1", "CREATE INDEX slow ON entry (at)", "CREATE TABLE other (x)",
    "DROP TRIGGER clip_is_never_changed",
     "CREATE TRIGGER also AFTER INSERT ON entry BEGIN DELETE FROM signature; END",
     "DROP TABLE clip; CREATE VIEW clip AS SELECT 1 AS sha256, 2 AS data"],
)  # fmt: skip
def test_a_file_with_rules_of_its_own_is_neither_shown_nor_written_to(folder: Path, client: Client, sql: str) -> None:
    path = write_job(folder / "rules.job", small_entries(CHANCE, 1))
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(sql)
    before = path.read_bytes()
    assert "tables are not those of a job file" in client.get("/jobs/rules").text
    answer = client.post("/jobs/rules/uphold", {"entry": "3"})
    assert answer.status == 422
    assert "tables are not those" in answer.text
    assert path.read_bytes() == before
    assert (
        sorted(one.name for one in folder.iterdir()) == ["rules.job", "summaries.json"][: len(list(folder.iterdir()))]
    )


def test_ten_thousand_views_do_not_keep_a_page_waiting(folder: Path, client: Client) -> None:
    """SQLite takes seconds to parse such a schema; the clock is looked at meanwhile."""
    path = write_job(folder / "views.job", small_entries(CHANCE, 1))
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA writable_schema=ON")
        connection.execute("BEGIN")
        views = ((f"v{n}", f"v{n}", f"CREATE VIEW v{n} AS SELECT 1") for n in range(45_000))
        connection.executemany("INSERT INTO sqlite_schema VALUES ('view', ?, ?, 0, ?)", views)
        connection.execute("COMMIT")
    answer = client.get("/jobs/views")
    assert answer.status in (400, 422)
    assert answer.cpu_s < MOST_CPU_S + 0.5


def test_what_is_too_much_is_told(folder: Path, client: Client) -> None:
    long = e.RemarkKept("survey_1", "note", "w" * (LONGEST_BODY_BYTES + 1))
    write_job(folder / "long.job", [opened(CHANCE), long])
    nul = Draft("remark kept", 1, canonical(e.RemarkKept("s", "note", "\0" + "w" * LONGEST_BODY_BYTES).body()).decode())
    write_job(folder / "nul.job", [opened(CHANCE), nul])
    step = draft(e.StepOpened("survey_1"))
    write_rows(folder / "many.job", chained([draft(opened(CHANCE)), *[step] * MOST_ENTRIES]))
    for name, what in (("long", "an entry has"), ("nul", "an entry has"), ("many", f"{MOST_ENTRIES + 1:,} entries")):
        answer = client.get(f"/jobs/{name}")
        assert answer.status == 400
        assert what in answer.text
        assert "the pages do not show this file" in client.get("/").text


def test_a_file_of_too_many_signatures_is_not_read(folder: Path, client: Client) -> None:
    """Each takes a tenth of a millisecond to check; as many as the limit are checked, and found not to fit."""
    for name, count in (("some", MOST_SIGNATURES), ("many", MOST_SIGNATURES + 1)):
        path = write_job(folder / f"{name}.job", [opened(CHANCE)])
        numbers = f"WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {count})"
        tamper(path, f"{numbers} INSERT INTO signature SELECT i, '', '', '' FROM n;")
    assert client.get("/jobs/some").status == 200
    assert "Signature does not fit:" in client.get("/jobs/some").text
    assert client.get("/jobs/many").status == 400
    assert f"it has {MOST_SIGNATURES + 1} signatures" in client.get("/jobs/many").text


# Clips


@pytest.mark.parametrize("data", CLIPS, ids=lambda data: repr(data[:12]))
def test_a_clip_has_the_type_of_what_it_begins_with_or_is_not_given(folder: Path, client: Client, data: bytes) -> None:
    """Whatever the file says of it; `nosniff` keeps a browser to that (Fetch standard, 3.6)."""
    blob = Blob(data, "sound", "text/html")
    write_job(
        folder / "clip.job",
        [draft(opened(CHANCE)), draft(taken("survey_1", "x", "", "1", CHANCE), blob.row[0])],
        [blob],
    )
    answer = client.get(f"/jobs/clip/clips/{blob.row[0]}")
    begins = {b"fLaC": "audio/flac", b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
    wanted = next((media for begin, media in begins.items() if data.startswith(begin)), "")
    assert answer.header("x-content-type-options") == "nosniff"
    if wanted:
        assert (answer.status, answer.header("content-type"), answer.body) == (200, wanted, data)
        assert "default-src 'none'" in answer.header("content-security-policy")
    else:
        assert answer.status == 422
        assert "neither sound nor picture" in answer.text
    assert not strange(client.get("/jobs/clip/papers/foreman").text)


@pytest.mark.parametrize("name", ["x", "0" * 63, "A" * 64, "..%2f..%2fetc%2fpasswd", "%00", "0" * 64])
def test_a_clip_that_is_not_there_is_404(folder: Path, client: Client, name: str) -> None:
    write_job(folder / "clip.job", small_entries(CHANCE, 1), [SOUND, PICTURE])
    assert client.get(f"/jobs/clip/clips/{name}").status == 404


# Ranges: RFC 9110, section 14; the examples of 14.1.2 are on a representation of 10,000 bytes

WHOLE = b"fLaC" + bytes(random.Random(7).randrange(256) for _ in range(9996))
RANGES: dict[str, tuple[int, int] | int] = {
    "bytes=0-499": (0, 499),  # "the first 500 bytes"
    "bytes=500-999": (500, 999),  # "the second 500 bytes"
    "bytes=-500": (9500, 9999),  # "the final 500 bytes"
    "bytes=9500-": (9500, 9999),
    "bytes=0-0,-1": 200,  # "the first and last bytes only": several at once may be ignored (14.2)
    "bytes= 0-999, 4500-5499, -1000": 200,
    "bytes=500-600,601-999": 200,
    "bytes=0-": (0, 9999),
    "bytes=0-0": (0, 0),
    "bytes=-1": (9999, 9999),
    "bytes=9999-": (9999, 9999),
    "bytes=0-99999": (0, 9999),  # beyond the end: what is there
    f"bytes=1-{'9' * 40}": (1, 9999),
    "bytes=-20000": (0, 9999),  # a suffix longer than all of it is all of it
    "BYTES=0-9": (0, 9),  # names of units are case-insensitive (14.1)
    "bytes=10000-": 416,  # nothing of it is there (15.5.17)
    "bytes=-0": 416,
    "bytes=5-2": 416,  # no range; may be refused (14.2)
    "bytes=-": 416,
    "bytes=": 416,
    "items=0-5": 200,  # another unit must be ignored (14.2)
    "bytes": 200,
    "0-5": 200,
    "bytes=a-b": 200,
    "bytes=\u0660-\u0665": 200,
    "": 200,
}


@pytest.fixture
def sound(folder: Path) -> str:
    blob = Blob(WHOLE)
    write_job(folder / "sound.job", [draft(opened(CHANCE), blob.row[0])], [blob])
    return f"/jobs/sound/clips/{blob.row[0]}"


@pytest.mark.parametrize("wanted", RANGES)
def test_a_range_is_just_these_bytes_of_the_clip(client: Client, sound: str, wanted: str) -> None:
    answer = client.get(sound, {"range": wanted.encode().decode("latin-1")})
    expected = RANGES[wanted]
    assert answer.header("accept-ranges") == "bytes" or answer.status == 416
    if isinstance(expected, tuple):
        first, last = expected
        assert answer.status == 206
        assert answer.body == WHOLE[first : last + 1]
        assert answer.header("content-range") == f"bytes {first}-{last}/10000"
        assert answer.header("content-length") == str(last - first + 1)
    elif expected == 200:
        assert (answer.status, answer.body, answer.header("content-range")) == (200, WHOLE, "")
    else:
        assert answer.status == 416
        assert answer.header("content-range") == "bytes */10000"


@given(first=st.integers(0, 12_000), length=st.integers(0, 12_000), suffix=st.booleans())
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_range_is_that_slice(client: Client, sound: str, first: int, length: int, suffix: bool) -> None:
    wanted = f"bytes=-{first}" if suffix else f"bytes={first}-{first + length}"
    answer = client.get(sound, {"range": wanted})
    there = WHOLE[max(10_000 - first, 0) :] if suffix else WHOLE[first : first + length + 1]
    there = there if first or not suffix else b""
    assert (answer.status, answer.body) == (206, there) if there else answer.status == 416


def test_a_range_of_another_state_is_answered_with_all_of_it(client: Client, sound: str) -> None:
    """If-Range: by a strong comparison alone, a date never fits (RFC 9110, 13.1.5); a HEAD has no ranges (14.2)."""
    tag = client.get(sound).header("etag")
    part = {"range": "bytes=0-9"}
    assert client.get(sound, {**part, "if-range": tag}).status == 206
    for other in ('"other"', f"W/{tag}", "Wed, 25 Nov 2026 10:00:00 GMT", ""):
        answer = client.get(sound, {**part, **({"if-range": other} if other else {})})
        assert answer.status == (200 if other else 206)


@pytest.mark.parametrize(
    ("none_match", "status"), [("{}", 304), ("W/{}", 304), ('"x", {}', 304), ("*", 304), ('"x"', 200), ("", 200)]
)
def test_what_the_browser_has_is_not_sent_again(client: Client, sound: str, none_match: str, status: int) -> None:
    """If-None-Match: a list, weak tags too (RFC 9110, 13.1.2)."""
    tag = client.get(sound).header("etag")
    answer = client.get(sound, {"if-none-match": none_match.format(tag)} if none_match else {})
    assert answer.status == status
    assert answer.body == (b"" if status == 304 else WHOLE)
    assert answer.header("etag") == tag


# Names and places


def link_to(html: str, name: str) -> str:
    """The address that the list has for a job of that name."""
    rows = re.findall(r'<th scope="row"><a href="([^"]+)"[^>]*>(.*?)</a>', html, re.DOTALL)
    found = [
        href
        for href, shown in rows
        if texts_of(f"<!doctype html><p>{shown}") == texts_of(f"<!doctype html><p>{escaped(name)}")
    ]
    assert len(found) == 1, (name, rows)
    return found[0].replace("&amp;", "&")


def escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_the_links_of_a_job_of_any_name_lead_to_it(folder: Path, client: Client, name: str) -> None:
    """Its page, and from there its figures, papers, clips and rows; and an act brings back to it."""
    entries = [draft(one, SOUND.row[0]) for one in small_entries(CHANCE, 1)]
    path = write_job(folder / "made", entries, [SOUND]).rename(folder / f"{name}.job")
    address = link_to(client.get("/").text, name)
    page = client.get(address)
    assert page.status == 200
    links = {one.replace("&amp;", "&") for one in re.findall(r'(?:href|src)="(/jobs/[^"]+)"', page.text)}
    assert len(links) > 8
    for link in links:
        if not link.endswith(".pdf"):
            assert client.get(link.partition("#")[0]).status == 200, link
    answer = client.post(f"{address}/ask", {"entry": "3", "question": "why", "order": "time"})
    if len(os.fsencode(path.name)) > 245:  # no room for the lock's name beside it: told
        assert answer.status == 400
    else:
        assert answer.status == 303
        where = answer.header("location")
        assert where == f"/jobs/{quote(name, safe='')}?order=time&entry=3#e3"
        assert client.get(where.partition("#")[0]).status == 200


OUTSIDE = (
    "..%2fsecret", "%2e%2e%2fsecret", "..%5csecret", "%2fetc%2fpasswd", "/etc/passwd", "..", "%2e%2e", ".", "%00",
    "good%00", "good.job",
    "good%2f..%2fgood", "./good", "link", "pipe", "inside", "outside", "\u2024\u2024/secret", "%ef%bc%8e%ef%bc%8e%2fsecret",
    "%c0%ae%c0%ae%2fsecret", "GOOD", "good ", "hidden", ".hidden", "summaries.json", "good.job-wal", "*", "%", "%zz",
    "a" * 4000,
)  # fmt: skip


@pytest.mark.parametrize("name", OUTSIDE)
@pytest.mark.parametrize("end", ["", "/clips/" + "0" * 64, "/papers/customer", "/entries/1", "/figures", "/sign"])
def test_no_address_leads_out_of_the_folder(folder: Path, client: Client, name: str, end: str) -> None:
    write_job(folder.parent / "secret.job", [opened(random.Random(5)), e.RemarkKept("survey_1", "note", "the secret")])
    write_job(folder / "good.job", small_entries(CHANCE, 1))
    write_job(folder / ".hidden.job", small_entries(CHANCE, 1))
    (folder / "link.job").symlink_to(folder.parent / "secret.job")
    (folder / "inside.job").symlink_to(folder / "good.job")
    (folder / "outside.job").mkdir()
    os.mkfifo(folder / "pipe.job")
    answer = client.get(f"/jobs/{quote(name, safe='%/')}{end}")
    assert answer.status == 404
    assert "the secret" not in answer.text
    assert not strange(answer.text)


def test_the_list_has_plain_files_of_the_folder_alone(folder: Path, client: Client) -> None:
    write_job(folder.parent / "secret.job", small_entries(CHANCE, 1))
    write_job(folder / "good.job", small_entries(CHANCE, 1))
    (folder / "link.job").symlink_to(folder.parent / "secret.job")
    (folder / "gone.job").symlink_to(folder / "nowhere")
    (folder / "folder.job").mkdir()
    os.mkfifo(folder / "pipe.job")
    (folder / ".hidden.job").write_bytes(b"")
    (folder / ".job").write_bytes(b"")
    (folder / "...job").write_bytes(b"")
    (folder / "notes.txt").write_text("no job")
    rows = re.findall(r'<th scope="row"><a href="/jobs/([^"]*)"', client.get("/").text)
    assert rows == ["good"]


def test_a_name_that_is_no_utf_8_is_told_and_hides_nothing(folder: Path, client: Client) -> None:
    write_job(folder / "good.job", small_entries(CHANCE, 1))
    bad = os.fsencode(folder) + b"/\xff\xfe.job"
    Path(os.fsdecode(bad)).write_bytes((folder / "good.job").read_bytes())
    html = client.get("/").text
    assert 'href="/jobs/good"' in html
    assert "its name is not in UTF-8" in html
    assert client.get("/jobs/%FF%FE").status == 404


@pytest.mark.parametrize("end", ["-wal", "-shm", "-journal"])
def test_what_lies_beside_a_job_is_not_followed_out_of_the_folder(folder: Path, client: Client, end: str) -> None:
    """SQLite reads these by their names: a link may lead anywhere, and a pipe never ends."""
    path = write_job(folder / "odd.job", small_entries(CHANCE, 1))
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode=WAL")
    beside = path.with_name(path.name + end)
    for make in (
        lambda: beside.symlink_to("/etc/passwd"),
        lambda: beside.symlink_to("/dev/zero"),
        lambda: os.mkfifo(beside),
    ):
        beside.unlink(missing_ok=True)
        make()
        answer = client.get("/jobs/odd")
        assert answer.status == 400
        assert "no plain file" in answer.text


def test_a_folder_that_went_is_told(folder: Path, client: Client) -> None:
    client.get("/")
    (folder / "summaries.json").unlink(missing_ok=True)
    folder.rmdir()
    answer: Answer = client.get("/")
    assert answer.status == 400
    assert "the folder of the jobs cannot be read" in answer.text


@pytest.mark.parametrize("query", ["page=%C2%B2", "page=-1", "page=99999999999999999999", "page=x", "entry=%D9%A3",
                                   "entry=0", "entry=1e9", "order=x", "state=x", "q=%00%FF", "q=" + "w" * 5000])  # fmt: skip
def test_any_query_is_answered(folder: Path, client: Client, query: str) -> None:
    write_job(folder / "good.job", small_entries(CHANCE, 1))
    assert client.get(f"/?{query}").status == 200
    assert client.get(f"/jobs/good?{query}").status == 200


def test_the_reader_says_what_is_wrong_with_a_damaged_file(folder: Path) -> None:
    """A problem in words for every cut of a small job; never another error."""
    path = write_job(folder / "whole.job", small_entries(CHANCE, 1))
    data = path.read_bytes()
    cut = folder / "cut.job"
    for size in range(0, len(data), 997):
        cut.write_bytes(data[:size])
        with pytest.raises(LayupProblem) as told:
            entries_in(cut)
        assert isinstance(told.value, CallProblem | JobFileBroken)
        assert told.value.what
