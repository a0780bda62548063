"""The foreman's pages as they are used: in Debian's Chromium, by keyboard, by axe-core, without JavaScript, on paper."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeVar

import pypdfium2
import pytest
from axe_core_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Route, expect

import assistant.review
from assistant.cli import main
from assistant.core import entries as e
from assistant.files.job_file import JobFile
from assistant.files.keys import keys_root, make_key
from assistant.reports.job_report import report_of
from assistant.reports.open_items import open_items
from assistant.review import acting
from assistant.review.entrance import GateSettings
from assistant.review.roles import Role
from tests.review_bay import (
    LIGHT,
    NAMES,
    PASSPHRASES,
    WRONG,
    entries_of,
    long_job,
    served,
    short_job,
    with_users,
)
from tests.review_keys import KEY_PASSPHRASE, NO_MOUSE, PC, Keys, browser, heading, plays, row, sign

TODAY = datetime.now(UTC).date().isoformat()
PHONE = {"width": 360, "height": 740}
AXE = Axe().axe_script
AXE_RUN = (
    "part => axe.run(part, {resultTypes: ['violations'], preload: {assets: ['cssom']}})"  # every sound is left alone
)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One for all tests of this file."""
    with browser() as started:
        yield started


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the two jobs, as the technician left them."""
    folder = tmp_path_factory.mktemp("made")
    short_job(folder / "tern 7.job")
    long_job(folder / "long.job")
    return folder


@dataclass
class Bay:
    """A served folder, and browsers that look at it; whatever a page complains of is kept."""

    chromium: Browser
    folder: Path
    at: str
    windows: dict[Role, Page] = field(default_factory=dict)
    complaints: list[str] = field(default_factory=list)
    contexts: list[BrowserContext] = field(default_factory=list)

    def page(self, *, script: str = "", **how: object) -> Page:
        context = self.chromium.new_context(**{"viewport": PC, **how})  # type: ignore[arg-type]
        context.set_default_timeout(20_000)
        self.contexts.append(context)
        if script:
            context.add_init_script(script)
        page = context.new_page()
        page.on("console", lambda said: self.complaints.append(f"{said.location['url']}: {said.text}"))
        page.on("pageerror", lambda fault: self.complaints.append(f"{page.url}: {fault}"))
        return page

    def log_in(self, role: Role = "foreman", **how: object) -> Page:
        """The list of jobs, by one who has just logged in: name, tab, passphrase, enter."""
        page = self.page(**how)  # type: ignore[arg-type]
        page.goto(self.at)
        page.locator("#name:focus").wait_for()
        page.keyboard.type(NAMES[role])
        page.keyboard.press("Tab")
        page.keyboard.type(PASSPHRASES[role])
        page.keyboard.press("Enter")
        page.wait_for_url(f"{self.at}/")
        return page

    def inside(self, role: Role = "foreman", address: str = "/jobs/tern 7", **how: object) -> Page:
        """A page, by one who logged in before: the short job's where nothing else is said. In the same window, unless `how`."""
        if role not in self.windows:
            self.windows[role] = self.log_in(role)
            self.contexts.remove(self.windows[role].context)
        page = self.windows[role]
        if how:
            page = self.page(storage_state=page.context.storage_state(), **how)
        page.goto(self.at + address)
        return page

    def path(self, name: str = "tern 7") -> Path:
        return self.folder / f"{name}.job"

    def forgive(self, what: str) -> None:
        """The browser tells of every answer that refuses, by status or address; so does htmx: of this one they may."""
        self.complaints = [one for one in self.complaints if what not in one]

    def close(self) -> None:
        """All windows but those of who logged in once."""
        while self.contexts:
            self.contexts.pop().close()


@pytest.fixture(scope="module")
def house(chromium: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bay]:
    """A server with a foreman and a technician, who log in once; its folder is filled for each test."""
    root = tmp_path_factory.mktemp("house")
    folder = root / "jobs"
    folder.mkdir()
    with served(folder, with_users(root / "users.json"), root / "summaries.json") as at:
        house = Bay(chromium, folder, at)
        yield house
        for page in house.windows.values():
            page.context.close()


@pytest.fixture
def bay(house: Bay, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bay]:
    """The two jobs as they were left, no keys. Nothing may be complained of: a breach of the policy is."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    for old in house.folder.iterdir():
        old.unlink()
    for job in made.glob("*.job"):
        shutil.copy(job, house.folder)
    house.complaints.clear()
    yield house
    house.close()
    assert house.complaints == []


def row_of(page: Page, sequence: int) -> Locator:
    """The entry of that number."""
    return page.locator(f"#e{sequence}")


E = TypeVar("E", bound=e.Entry)


def of_kind(path: Path, kind: type[E]) -> list[E]:
    return [entry for entry in entries_of(path) if isinstance(entry, kind)]


def open_kinds(path: Path) -> list[str]:
    with JobFile.open(path, read_only=True) as job_file:
        return [item.kind for item in open_items(report_of(job_file.entries()))]


def last_of(path: Path, kind: type[E]) -> int:
    """The number of the last entry of that kind."""
    return max(at for at, entry in enumerate(entries_of(path), 1) if isinstance(entry, kind))


def settle(path: Path) -> None:
    """What a foreman does to all that is open, without the pages."""
    with JobFile.open(path, read_only=True) as job_file:
        items = open_items(report_of(job_file.entries()))
    for item in items:
        if item.kind == "finding":
            acting.decide(path, item.sequence, "later", "", "Mara Quill", TODAY, NAMES["foreman"])
        else:
            acting.uphold(path, item.sequence, "", NAMES["foreman"])


# --- by keyboard


def test_a_job_is_reviewed_by_keyboard_alone(
    bay: Bay, tell: Callable[[str], None], capsys: pytest.CaptureFixture[str]
) -> None:
    """From the list to the signature without a mouse: listen, keep, ask back, decide, amend, sign; and verify says so."""
    page = bay.log_in(script=NO_MOUSE)
    keys = Keys(page)
    keys.press("n", "n")  # the newest is the long job
    expect(page.locator("a:focus")).to_have_text("tern 7")
    keys.press("Enter")
    page.wait_for_url("**/jobs/tern*")
    keep_what_is_low(keys)
    ask_back_and_keep(bay, keys)
    decide_and_amend(keys)
    sign(keys, "**/jobs/tern%207")
    tell(
        f"pages: five open things settled and the job signed by {keys.pressed} keys, all texts and passphrases with them"
    )

    assert main(["verify", str(bay.path())]) == 0
    told = capsys.readouterr().out
    assert "whole" in told
    assert "signed by Ines Voss" in told
    assert [(a.value, a.reason, a.who) for a in of_kind(bay.path(), e.Amended)] == [("180", "misheard", "Ines Voss")]
    assert [u.who for u in of_kind(bay.path(), e.EntryUpheld)] == ["Ines Voss"] * 3


def keep_what_is_low(keys: Keys) -> None:
    """*n*, *p*, *p*, *k*: heard, stopped, kept; and the next open one has the focus."""
    keys.press("n")
    expect(heading(keys.page)).to_have_text("compression, cylinder 3")
    keys.press("p")
    plays(keys.page)
    keys.press("p")
    expect(row(keys.page).locator("audio")).to_have_js_property("paused", True)
    keys.press("k")
    expect(heading(keys.page)).to_have_text("rest")


def ask_back_and_keep(bay: Bay, keys: Keys) -> None:
    """*q*: the technician, who has a browser of his own, answers in writing; then *k*."""
    keys.press("q")
    keys.type("Was it charged before?")
    keys.press("Tab", "Enter")
    expect(row(keys.page).locator(".question")).to_contain_text("Ines Voss asks: Was it charged before?")

    his = Keys(bay.inside("technician", script=NO_MOUSE))
    while not row(his.page).locator(".question").count():
        his.press("n")
    his.press("w")
    his.type("no, it stood all week")
    his.press("Tab", "Enter")
    expect(row(his.page)).to_contain_text("Answer by Timo Hahl")

    keys.page.reload()
    keys.press("n")
    expect(row(keys.page)).to_contain_text("Answer by Timo Hahl, written: “no, it stood all week”")
    keys.press("k")
    expect(heading(keys.page)).to_have_text("finding")


def decide_and_amend(keys: Keys) -> None:
    """*d* with the customer's answer; *k* for the step not done; *a*: the doubtful value is another."""
    keys.press("p")
    plays(keys.page)
    keys.press("d", "Space", "Tab")
    keys.type("Mara Quill")
    keys.press("Enter")
    expect(row(keys.page)).to_contain_text("Approved, said Mara Quill on")
    keys.press("n")
    expect(heading(keys.page)).to_have_text("not done: there are no washers")
    keys.press("k")
    expect(heading(keys.page)).to_have_text("compression, cylinder 2")
    expect(row(keys.page)).to_contain_text("the ears differ")
    keys.press("a")
    keys.type("180")
    keys.press("Tab", "Tab", "Enter")
    expect(row(keys.page)).to_contain_text("180 psi")
    expect(row(keys.page)).to_contain_text("amended by Ines Voss: misheard")


def test_the_foremans_own_words_are_typed_where_he_keeps_and_decides(bay: Bay) -> None:
    """*Why* is the next stop after *Keep*, and *Enter* there keeps and goes on; what was found comes after who decided."""
    keys = Keys(bay.inside(script=NO_MOUSE))
    keys.press("n")
    row(keys.page).get_by_role("button", name="Keep").focus()
    keys.press("Tab")
    keys.type("rings are on order")
    keys.press("Enter")
    expect(heading(keys.page)).to_have_text("rest")
    while heading(keys.page).inner_text() != "finding":
        keys.press("n")
    keys.press("d", "Space", "Tab")
    keys.type("Mara Quill")
    keys.press("Tab")
    keys.type("the hose is cracked")
    keys.press("Enter")
    expect(row(keys.page)).to_contain_text("in the words of Ines Voss, for the customer's sheet: the hose is cracked")
    assert [u.why for u in of_kind(bay.path(), e.EntryUpheld)] == ["rings are on order", "the hose is cracked"]


def test_the_one_wrong_value_of_two_hundred_is_found_at_once(bay: Bay, tell: Callable[[str], None]) -> None:
    """From the list of jobs it takes four keys until the row of the wrong one has the focus and its sound plays."""
    page = bay.inside(address="/", script=NO_MOUSE)
    keys = Keys(page)
    keys.press("n", "Enter")
    page.wait_for_url("**/jobs/long")
    keys.press("n", "p")
    plays(page)
    expect(heading(page)).to_have_text(f"bank {WRONG[0]}, cylinder {WRONG[1]}")
    expect(row(page)).to_contain_text("180 psi, “one eighty”")
    assert len(of_kind(bay.path("long"), e.ReadingKept)) == 200
    tell(f"pages: the one wrong value of 200 found and played by {keys.pressed} keys from the list of jobs")
    assert keys.pressed <= 4


def test_the_keys_are_told_and_can_be_turned_off(bay: Bay) -> None:
    """*?* shows them; turned off, they do nothing, on the next page too (WCAG 2.2, 2.1.4 Character Key Shortcuts)."""
    page = bay.inside(address="/")
    page.keyboard.press("?")
    expect(page.locator("#keys")).to_contain_text("next job that is not signed")
    page.locator("#keys-on").uncheck()
    page.locator("h1").click()
    page.keyboard.press("n")
    assert page.locator("a:focus").count() == 0
    page.goto(f"{bay.at}/jobs/tern 7")
    page.keyboard.press("n")
    page.keyboard.press("k")
    assert row(page).count() == 0
    assert open_kinds(bay.path()) == ["out of limits", "out of limits", "finding", "not done", "doubtful"]
    page.evaluate("localStorage.clear()")


HELD = """([key, times]) => {
    for (let n = 0; n < times; n++) {
        (document.activeElement ?? document).dispatchEvent(
            new KeyboardEvent("keydown", {key, repeat: n > 0, bubbles: true, cancelable: true}));
    }
}"""
"""A key that is held down: one keydown, then repeated ones (UI Events, 5.5.1, `repeat`)."""


def test_a_held_key_keeps_one_entry_and_no_other(bay: Bay) -> None:
    """What the repeats would find in focus nobody has looked at; arrows go on as long as they are held."""
    page = bay.inside()
    page.keyboard.press("n")
    page.keyboard.down("k")
    expect(heading(page)).to_have_text("rest")
    for _ in range(6):
        page.keyboard.down("k")  # Playwright: down again without up is a repeat
        page.wait_for_timeout(60)
    page.keyboard.up("k")
    expect(heading(page)).to_have_text("rest")
    assert [one.entry for one in of_kind(bay.path(), e.EntryUpheld)] == [19]
    entries = page.locator("article.row")
    entries.first.focus()
    page.evaluate(HELD, ["ArrowDown", 3])
    expect(entries.nth(3)).to_be_focused()


def held_back(page: Page, act: str) -> list[Route]:
    """Requests of this act, as they come: each is answered only when it is let go on."""
    on_its_way: list[Route] = []
    page.route(f"**/{act}", lambda route: on_its_way.append(route))  # noqa: PLW0108  Playwright marks what it is given
    return on_its_way


def test_what_is_being_amended_is_not_kept_meanwhile(bay: Bay) -> None:
    """As long as the answer to an act on an entry is on its way, *k* does nothing to it: the value that stood is going."""
    page = bay.inside()
    on_its_way = held_back(page, "amend")
    keys = Keys(page)
    keys.press("n", "a")
    keys.type("185")
    keys.press("Enter")
    keys.press("Escape", "k")
    expect(row_of(page, 19).locator("form.htmx-request")).to_have_count(1)
    assert of_kind(bay.path(), e.EntryUpheld) == []
    on_its_way.pop().continue_()
    expect(heading(page)).to_have_text("compression, cylinder 3")
    expect(row(page)).to_contain_text("185 psi")
    page.unroute_all()
    assert of_kind(bay.path(), e.EntryUpheld) == []
    assert [one.value for one in of_kind(bay.path(), e.Amended)] == ["185"]


def test_who_goes_on_before_the_answer_comes_is_left_there(bay: Bay) -> None:
    """The answer to an act does not pull the focus back from the entry one has gone to meanwhile."""
    page = bay.inside()
    on_its_way = held_back(page, "amend")
    keys = Keys(page)
    keys.press("n", "a")
    keys.type("185")
    keys.press("Enter", "Escape", "n")
    expect(heading(page)).to_have_text("rest")
    on_its_way.pop().continue_()
    expect(page.locator("article.row", has_text="185 psi").first).to_be_visible()
    page.wait_for_timeout(200)
    expect(heading(page)).to_have_text("rest")
    page.unroute_all()


def test_who_types_before_the_answer_comes_types_on(bay: Bay) -> None:
    """The answer to *k* leaves the focus in the field that was opened meanwhile; the letters go there, nothing else is kept."""
    page = bay.inside()
    on_its_way = held_back(page, "uphold")
    keys = Keys(page)
    keys.press("n", "k", "j")
    keys.type("as")
    on_its_way.pop().continue_()
    expect(row_of(page, 19)).not_to_have_attribute("data-open", "")
    page.wait_for_timeout(200)
    keys.type("k")
    assert page.evaluate("document.activeElement.value") == "ask"
    assert on_its_way == []
    page.unroute_all()


def test_the_key_to_sign_says_what_is_open(bay: Bay) -> None:
    """In the words of the box: what keeps the job from being signed."""
    page = bay.inside()
    page.keyboard.press("s")
    expect(page.locator("#told")).to_contain_text("5 open")
    expect(page.locator("#told")).to_contain_text("out of limits: 2")


def test_the_job_as_a_whole_is_asked_about_by_key(bay: Bay) -> None:
    """*j* opens the form wherever one stands; Escape leads back to it."""
    page = bay.inside()
    page.keyboard.press("n")
    page.keyboard.press("j")
    expect(page.locator("#ask-job")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator("summary", has_text="Ask about the job")).to_be_focused()
    page.keyboard.press("j")
    page.keyboard.type("Where is the key of the locker?")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/jobs/tern%207?order=*")
    [asked] = of_kind(bay.path(), e.QuestionAsked)
    assert (asked.about, asked.text) == (0, "Where is the key of the locker?")


def test_every_key_is_told_on_the_page_and_in_the_readme(bay: Bay) -> None:
    """The list on a job's page, the README's table, and what the script acts on are the same keys."""
    script = (Path(assistant.review.__file__).parent / "assets" / "review.js").read_text("utf-8")
    acted = set(re.findall(r'^  "?([a-z?])"?:', script.partition("const ACTS = {")[2].partition("};")[0], re.MULTILINE))
    page = bay.inside()
    page.keyboard.press("?")
    told = set(page.locator("#keys kbd").all_inner_texts())
    readme = (
        Path("README.md").read_text("utf-8").partition("The whole review goes by keyboard")[2].partition("\n\nEvery")[0]
    )
    listed = {key for cell in re.findall(r"^\| (`.*?) \|", readme, re.MULTILINE) for key in re.findall(r"`(.)`", cell)}
    assert acted == {key for key in told if len(key) == 1 and key.isascii()} == listed
    assert set("njs?") <= acted


# --- two at once, and refused


def test_an_impossible_value_is_told_beside_its_row(bay: Bay) -> None:
    """Refused in words there, what was typed stays, and the file is as it was."""
    before = entries_of(bay.path())
    page = bay.inside()
    keys = Keys(page)
    keys.press("n", "a")
    keys.type("9999")
    keys.press("Enter")
    told = row_of(page, 19).locator(".problem")
    expect(told).to_contain_text(
        "9999 psi cannot be a compression reading: it lies between 0 and 400 psi: check the value"
    )
    expect(told).to_be_in_viewport(ratio=1)
    assert page.locator("#v19").input_value() == "9999"
    assert page.locator("#v19").evaluate("field => field === document.activeElement")
    assert entries_of(bay.path()) == before
    bay.forgive(" 400 ")


def test_a_job_that_is_open_at_the_bench_is_not_touched(bay: Bay) -> None:
    """While a technician works on it, every act is refused in words, by a page with script and by one without."""
    before = entries_of(bay.path())
    with JobFile.open(bay.path()):
        page = bay.inside()
        page.keyboard.press("n")
        page.keyboard.press("k")
        expect(row_of(page, 19).locator(".problem")).to_contain_text("another program is writing to this job")
        plain = bay.inside(java_script_enabled=False)
        row_of(plain, 19).get_by_role("button", name="Keep").click()
        expect(plain.locator("h1")).to_contain_text("another program is writing to this job")
    assert entries_of(bay.path()) == before
    bay.forgive(" 400 ")


def test_the_second_of_two_foremen_is_told(bay: Bay) -> None:
    """Who amends what another has amended meanwhile is refused, and sees it after opening the page again."""
    page = bay.inside()
    acting.amend(bay.path(), 19, "185", "measured again", "Ada Lind")
    keys = Keys(page)
    keys.press("n", "a")
    keys.type("188")
    keys.press("Enter")
    expect(row_of(page, 19).locator(".problem")).to_contain_text("that is no reading that counts now")
    page.goto(f"{bay.at}/jobs/tern 7")
    expect(page.locator("main")).to_contain_text("amended by Ada Lind: measured again")
    bay.forgive(" 400 ")


def test_what_an_amendment_judges_again_is_shown_with_it(bay: Bay) -> None:
    """A spread is of all cylinders: amending one turns the others, which stand anew in their old places, and open."""
    page = bay.inside(address="/jobs/tern 7?order=time")
    expect(row_of(page, 17)).to_contain_text("within")
    row_of(page, 19).focus()
    keys = Keys(page)
    keys.press("a")
    keys.type("214")
    keys.press("Enter")
    expect(row(page)).to_contain_text("214 psi")
    shown = page.locator("article.row h2", has_text="compression, cylinder")
    expect(shown).to_have_text([f"compression, cylinder {n}" for n in (1, 2, 3)])
    again = [x for x in of_kind(bay.path(), e.ReadingKept) if x.name == "compression"][4:]
    assert [(x.at, x.verdict) for x in again] == [("cylinder 1", "low"), ("cylinder 2", "low")]
    for one in again:
        judged = page.locator("article.row.open", has=page.get_by_role("heading", name=f"compression, {one.at}"))
        expect(judged).to_contain_text("low")


# --- the list


def test_the_list_is_searched_while_one_types(bay: Bay) -> None:
    """What is typed narrows the list at once, so does a state; and one comes back to the same search from a job."""
    (bay.folder / "broken.job").write_text("no job at all")
    page = bay.inside(address="/")
    names = page.locator(".jobs th[scope=row]")
    expect(names).to_have_count(3)
    page.keyboard.press("/")
    page.keyboard.type("quill")
    expect(names).to_have_text(["tern 7"])
    page.locator("#q").fill("")
    expect(names).to_have_count(3)
    page.get_by_label("cannot be read").check()
    expect(names).to_have_text(["broken"])
    page.get_by_label("to be reviewed").check()
    expect(names).to_have_count(2)
    page.locator("#q").fill("test 3")
    expect(names).to_have_text(["tern 7"])
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.locator("h1").click()
    page.wait_for_timeout(500)
    assert asked == []  # to leave the field asks for nothing: the list would change under a click
    names.get_by_role("link").click()
    page.wait_for_url("**/jobs/tern*")
    page.go_back()
    expect(names).to_have_text(["tern 7"])
    assert page.locator("#q").input_value() == "test 3"
    assert page.get_by_label("to be reviewed").is_checked()
    page.locator("#q").fill("nobody's")
    expect(page.locator("#found")).to_contain_text("Nothing in")


# --- without script


def test_all_can_be_done_without_script(bay: Bay) -> None:
    """Plain forms: keep, amend, ask, decide, sign; each comes back to the page, at the entry."""
    make_key(NAMES["foreman"], KEY_PASSPHRASE, keys_root(), LIGHT)
    page = bay.inside(address="/jobs/tern 7?order=open", java_script_enabled=False)
    row_of(page, 19).get_by_role("button", name="Keep").click()
    page.wait_for_url("**#e19")
    expect(row_of(page, 19)).to_contain_text("stands as it is, says Ines Voss")
    ask = row_of(page, 24)
    ask.get_by_text("Ask back").first.click()
    ask.get_by_role("textbox").and_(page.locator("textarea")).fill("Was it charged?")
    ask.get_by_role("button", name="Ask back").click()
    expect(row_of(page, 24)).to_contain_text("Ines Voss asks: Was it charged?")
    acting.answer(bay.path(), last_of(bay.path(), e.QuestionAsked), "no", NAMES["technician"])
    page.goto(f"{bay.at}/jobs/tern 7")
    row_of(page, 24).get_by_role("button", name="Keep").click()
    decide_by_hand(row_of(page, 20))
    row_of(page, 28).get_by_role("button", name="Keep").click()
    row_of(page, 18).get_by_text("Amend", exact=True).first.click()
    row_of(page, 18).get_by_label("What is right").fill("180")
    row_of(page, 18).get_by_role("button", name="Amend").click()
    page.get_by_role("link", name="Sign it").click()
    page.get_by_label("Passphrase of your key").fill(KEY_PASSPHRASE)
    page.get_by_role("button", name="Sign").click()
    expect(page.locator("h1")).to_contain_text("signed")
    assert of_kind(bay.path(), e.JobSigned)[0].who == "Ines Voss"


def decide_by_hand(finding: Locator) -> None:
    finding.get_by_text("Customer's answer").click()
    finding.get_by_label("later").check()
    finding.get_by_label("Who gave the answer").fill("Mara Quill")
    finding.get_by_label("On").fill(TODAY)
    finding.get_by_role("button", name="Write it down").click()
    expect(finding).to_contain_text(f"Later, said Mara Quill on {TODAY}")


# --- on paper


def test_the_job_page_is_fit_for_print(bay: Bay) -> None:
    """Printed, it has the entries and what is open, and no forms, buttons, players or menus."""
    page = bay.inside()
    page.emulate_media(media="print")
    for gone in (".top", ".acts >> nth=0", "audio >> nth=0", "nav.papers", "nav.orders", "#keys"):
        assert page.locator(gone).is_hidden(), gone
    text = text_of(page.pdf())
    assert "5 open" in text
    assert "compression, cylinder 3" in text
    assert "150 psi" in text
    assert "Keep: it stands" not in text
    page.emulate_media(media="screen")


@pytest.mark.parametrize("paper", ["customer", "foreman", "tag"])
def test_papers_open_in_their_own_style_and_as_pdf(bay: Bay, paper: str) -> None:
    """The page's style sheet applies under the paper's own policy, its pictures are there; the PDF opens in the browser."""
    page = bay.inside(address=f"/jobs/tern 7/papers/{paper}")
    family = page.locator("body").evaluate("body => getComputedStyle(body).fontFamily")
    assert "Times" not in family
    assert page.evaluate("document.styleSheets.length") >= 1
    assert page.evaluate("[...document.images].filter(one => !one.complete || !one.naturalWidth).length") == 0
    answer = page.request.get(f"{bay.at}/jobs/tern 7/papers/{paper}.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"].startswith("inline")
    assert "Test 3" in text_of(answer.body())


def text_of(pdf: bytes) -> str:
    """All text of a PDF, by a reader that is none of ours."""
    with pypdfium2.PdfDocument(pdf) as document:
        return " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)


# --- for everybody


PAGES = {
    "list": "/",
    "job, doubtful first": "/jobs/tern 7",
    "job, open only": "/jobs/tern 7?order=open",
    "job, as it happened": "/jobs/tern 7?order=time",
    "job, its last page": "/jobs/long?page=4",
    "figures": "/jobs/tern 7/figures",
    "sign, while open": "/jobs/tern 7/sign",
    "sign, without a key": "/jobs/settled/sign",
    "sign, with a key": "/jobs/settled/sign",
    "refused": "/jobs/none",
    "not readable": "/jobs/broken",
    "bay": "/bay",
}
MAY_SAY = {"refused": " 404 ", "not readable": " 400 "}
OPEN_ALL = """() => {
    document.querySelectorAll("details").forEach(one => one.open = true);
    document.querySelector("#keys")?.removeAttribute("hidden");
}"""


@pytest.fixture(scope="module")
def shown(chromium: Browser, made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bay]:
    """The same jobs, one that is settled and one that is none; only looked at."""
    root = tmp_path_factory.mktemp("shown")
    folder = root / "jobs"
    shutil.copytree(made, folder)
    shutil.copy(folder / "tern 7.job", folder / "settled.job")
    (folder / "broken.job").write_text("no job at all")
    acting.ask(folder / "tern 7.job", 24, "Was it charged?", NAMES["foreman"])
    settle(folder / "settled.job")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_DATA_HOME", str(root / "data"))
        with served(folder, with_users(root / "users.json"), root / "summaries.json") as at:
            bay = Bay(chromium, folder, at)
            yield bay
            bay.close()
            for page in bay.windows.values():
                page.context.close()


@pytest.mark.parametrize("name", PAGES)
def test_everybody_can_use_the_page(shown: Bay, name: str) -> None:
    """axe-core finds no fault, on a PC and on a phone; nothing scrolls sideways; nothing is complained of."""
    if name == "sign, with a key":
        make_key(NAMES["foreman"], KEY_PASSPHRASE, keys_root(), LIGHT)
    page = shown.inside(address=PAGES[name])
    if name in ("list", "job, doubtful first"):
        page.evaluate(OPEN_ALL)
    fit_for_everybody(page, "nav.pages" if name == "job, its last page" else "html")
    shown.forgive(MAY_SAY.get(name, "nothing"))
    assert shown.complaints == []


@pytest.mark.parametrize("role", ["", "technician"])
def test_everybody_can_come_in(shown: Bay, role: str) -> None:
    """The same of the log-in page, and of the job as a technician sees it."""
    page = shown.inside("technician") if role else shown.page()
    if not role:
        page.goto(shown.at)
    page.evaluate(OPEN_ALL)
    fit_for_everybody(page)
    assert shown.complaints == []


def test_everybody_can_say_who_they_are(chromium: Browser, tmp_path: Path) -> None:
    """The same of the page that asks for a name; and of the one to sign with a key."""
    with served(tmp_path, GateSettings(), tmp_path / "summaries.json") as at:
        bay = Bay(chromium, tmp_path, at)
        page = bay.page()
        page.goto(at)
        fit_for_everybody(page)
        bay.close()
    assert bay.complaints == []


def fit_for_everybody(page: Page, part: str = "html") -> None:
    """WCAG and good practice by axe-core at both widths, of the page or a part of it; as wide as the screen and no wider."""
    page.evaluate(AXE)
    for size in (PHONE, PC):
        page.set_viewport_size(size)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        found = page.evaluate(AXE_RUN, part)
        assert "color-contrast" in [rule["id"] for rule in found["passes"]]
        faults = [
            (one["impact"], one["id"], [node["html"][:200] for node in one["nodes"][:2]]) for one in found["violations"]
        ]
        assert faults == [], size
