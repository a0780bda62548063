"""For the tests of the pages by keyboard: Debian's Chromium, keys that count, the row that has the focus, a whole review."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, Locator, Page, expect, sync_playwright

from tests.review_bay import CHROMIUM

PC = {"width": 1280, "height": 900}
NO_MOUSE = "addEventListener('pointerdown', () => console.error('a mouse was used'), true)"
KEY_PASSPHRASE = "grease before salt"


@contextmanager
def browser() -> Iterator[Browser]:
    """Debian's Chromium; where there is none the test is passed over."""
    if not CHROMIUM.exists():
        pytest.skip("Debian's Chromium is not installed")
    with sync_playwright() as started:
        found = started.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        yield found
        found.close()


class Keys:
    """A keyboard that counts."""

    def __init__(self, page: Page) -> None:
        self.page, self.pressed = page, 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.pressed += 1

    def type(self, text: str) -> None:
        self.page.keyboard.type(text)
        self.pressed += len(text)


def row(page: Page) -> Locator:
    """The entry that has the focus."""
    return page.locator("article.row:focus")


def heading(page: Page) -> Locator:
    return row(page).locator("h2")


def plays(page: Page) -> None:
    """The sound of that entry runs: its time grows."""
    audio = row(page).locator("audio")
    for _ in range(200):
        if audio.evaluate("sound => sound.currentTime") > 0.2:
            return
        page.wait_for_timeout(50)
    raise AssertionError("the sound does not play")


def settle_all(keys: Keys, customer: str) -> tuple[list[str], int]:
    """On a job's page: *n* to each thing that is open, its sound played, a finding approved by the customer, all else kept.

    The kinds of what was open, in that order, and how many sounds were played.
    """
    page, settled, played = keys.page, list[str](), 0
    while page.locator("article[data-open]").count():
        while not page.locator("article[data-open]:focus").count():
            keys.press("n")
        at = page.locator(f"#{row(page).get_attribute('id')}")
        settled.append(at.locator(".why").first.inner_text().strip())
        if at.locator("audio").count():
            keys.press("p")
            plays(page)
            played += 1
        if settled[-1] == "finding":
            keys.press("d", "Space", "Tab")
            keys.type(customer)
            keys.press("Enter")
        else:
            keys.press("k")
        expect(at).not_to_have_attribute("data-open", "")
    return settled, played


def sign(keys: Keys, address: str) -> None:
    """*s*: a key is made, its passphrase typed, the job signed; then its page is shown, at that address."""
    expect(keys.page.locator("#open")).to_contain_text("Nothing is open.")
    keys.press("s")
    keys.page.locator("#passphrase:focus").wait_for()
    keys.type(KEY_PASSPHRASE)
    keys.press("Tab")
    keys.type(KEY_PASSPHRASE)
    keys.press("Enter")
    keys.page.get_by_text("Passphrase of your key").wait_for(timeout=60_000)
    keys.page.locator("#passphrase:focus").wait_for()
    keys.type(KEY_PASSPHRASE)
    keys.press("Enter")
    keys.page.wait_for_url(address)
    expect(keys.page.locator("h1")).to_contain_text("signed")
