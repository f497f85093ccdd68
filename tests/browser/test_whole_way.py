"""A designer's whole way for three vendors: from dropped PDFs to zips, by clicks and by keyboard.

The example's invented printers print and read between the steps.
"""

import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from artwork_kit import document
from browser_kit import choose_files_by_keys
from run_kit import inkaccord, run_of, state
from web_kit import OpenPage, open_page

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator, Page

ROOT = Path(__file__).parents[2]
DRAWN = b"0.85 0.2 0.6 0.3 k 20 20 60 60 re f 0 0.38 0.88 0.02 k 30 30 20 20 re f"
PRINTERS = {
    "reply-card": ("north-quay", "north-quay-press", "natural-cotton"),
    "tag": ("millrace", "millrace-press", "smooth-ivory"),
}
"""Vendor, printer and paper of two pieces; the first one stays with the stand-ins."""
STANDS_FOR = {"my-printer@cotton-card": ("--device", "laser", "--stock", "smooth-ivory")}
MOST_ROUNDS = 5


@dataclass
class Hand:
    """Someone at the page; ``keys`` alone, or by pointing too."""

    page: "Page"
    keys: bool

    def press(self, what: str) -> None:
        """Press a button or follow a link."""
        there = self.page.locator(what).first
        if not self.keys:
            there.click()
            return
        self.reach(there)
        self.page.keyboard.press("Enter")

    def write(self, field: str, text: str) -> None:
        there = self.page.locator(field).first
        if not self.keys:
            there.fill(text)
            return
        self.reach(there)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)

    def choose(self, field: str, label: str) -> None:
        there = self.page.locator(field).first
        if not self.keys:
            there.select_option(label=label)
            return
        self.reach(there)
        self.page.keyboard.type(label)

    def drop(self, field: str, files: list[Path]) -> None:
        there = self.page.locator(field).first
        if not self.keys:
            there.set_input_files(files)
            return
        self.reach(there)
        choose_files_by_keys(self.page, files)

    def reach(self, there: "Locator") -> None:
        """Go with the tabulator alone, until what is looked for has the focus."""
        there.wait_for()
        target = there.element_handle()
        for _ in range(400):
            if self.page.evaluate("(it) => document.activeElement === it", target):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"the tabulator never comes to {there}")

    def follow(self, what: str) -> None:
        """Press what leads to another page, and wait for that."""
        with self.page.expect_navigation():
            self.press(what)


@pytest.fixture
def opened(tmp_path: Path) -> "Iterator[OpenPage]":
    folder = tmp_path / "studio"
    folder.mkdir()
    yield from open_page(folder)


@pytest.mark.slow
@pytest.mark.parametrize("keys", [False, True], ids=["clicks", "keys"])
def test_from_dropped_artwork_to_three_zips(
    browser: "Browser", opened: OpenPage, tmp_path: Path, keys: bool
) -> None:
    context = browser.new_context(viewport={"width": 1400, "height": 900})
    page = context.new_page()
    page.goto(opened.address)
    hand = Hand(page, keys)
    begin(hand, tmp_path)
    order = opened.folder / "summer"
    bring_to_its_end(hand, order, tmp_path)
    run = run_of(order)
    assert {it["status"] for it in run["pieces"]} == {"ready"}
    vendors = ("studio", "north-quay", "millrace")
    assert {it["vendor"] for it in run["pieces"]} == set(vendors)
    for vendor in vendors:
        with page.expect_download() as saved:
            hand.press(f"a[href$='summer-{vendor}.zip']")
        made = order / "out" / vendor / f"summer-{vendor}.zip"
        assert Path(saved.value.path()).read_bytes() == made.read_bytes()
    context.close()

    # The same order, run on the command line, gives the same bytes.
    before = {name: data for name, (_, data) in state(order / "out").items()}
    shutil.rmtree(order / "out")
    inkaccord("run", order)
    assert {name: data for name, (_, data) in state(order / "out").items()} == before


def begin(hand: Hand, place: Path) -> None:
    """Drop three PDFs, say what one colour should look like, and give two of them to vendors."""
    files = [place / f"{name}.pdf" for name in ("invitation", *PRINTERS)]
    for file in files:
        file.write_bytes(document(DRAWN))
    hand.follow("a[href='/begin']")
    hand.write("[name=name]", "summer")
    hand.drop("[name=artwork]", files)
    hand.follow("main button")
    for printer in PRINTERS.values():
        hand.press("summary:has-text('Another printer or paper')")
        for field, text in zip(("vendor", "device", "stock"), printer, strict=True):
            hand.write(f"[name='new/{field}']", text)
        hand.write("[name='new/size']", "letter")
        hand.follow("button[value=add-printer]")
    for piece, (_, device, stock) in PRINTERS.items():
        hand.choose(f"[name='field/pieces/{piece}/device']", device)
        hand.choose(f"[name='field/pieces/{piece}/stock']", stock)
    hand.choose("[name='aim/orange/kind']", "as a thing looks, by eye")
    hand.write("[name='aim/orange/what']", "the lantern")
    hand.write("[name='aim/orange/on']", "")
    hand.follow("button[value=keep]")


def bring_to_its_end(hand: Hand, order: Path, place: Path) -> None:
    """Run, print, read, look and answer until nothing more is asked."""
    page = hand.page
    for _ in range(MOST_ROUNDS):
        hand.follow("form[action$='/run'] button")
        page.locator("[data-progress]").wait_for(state="detached", timeout=240_000)
        if page.locator("text=Nothing more is asked").count():
            return
        played = printed_and_read(order, place)
        for sheet, readings in played.items():
            hand.follow(f"a[href$='/read/{sheet}']")
            hand.drop("[name=file]", [readings])
            hand.follow("main button")
            hand.follow("button[value=keep]")
        if page.locator("a:has-text('Look by eye')").count():
            look(hand)
        if page.locator("button:has-text('Choose this')").count():
            hand.follow("button:has-text('Choose this')")
    raise AssertionError(page.locator("main").inner_text())


def printed_and_read(order: Path, place: Path) -> dict[str, Path]:
    """Let the invented printers print what the last run asks for; return readings by sheet."""
    found: dict[str, Path] = {}
    for sheet in run_of(order)["samples"]:
        stand_in = STANDS_FOR.get(f"{sheet['device']}@{sheet['stock']}", ())
        subprocess.run(
            [sys.executable, "jobs_example/print_and_read.py", order / "out" / sheet["table"],
             "--into", place / "read", *stand_in],
            cwd=ROOT, check=True, capture_output=True,
        )  # fmt: skip
        found[sheet["id"]] = place / "read" / f"{sheet['id']}.txt"
    return found


def look(hand: Hand) -> None:
    """Tap the middle swatch of all that is asked, beside the first sheet that offers some."""
    hand.follow("a:has-text('Look by eye')")
    hand.write("[name=by]", "Ada")
    hand.write("[name=light]", "north window")
    hand.follow("main button")
    while tiles := hand.page.locator(".tile:visible").count():
        middle = hand.page.locator(".tile:visible").nth(tiles // 2)
        value = middle.get_attribute("value")
        hand.follow(f".tile[value='{value}']")
        hand.follow("a:has-text('Go on')")
    hand.follow("a:has-text('Back to the order')")
