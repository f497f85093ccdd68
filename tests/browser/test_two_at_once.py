"""Two tabs and a command line at once: nobody's work is lost, and each sees what the others did."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from artwork_kit import document
from inkaccord.shelf.store import Shelf
from web_kit import OpenPage, open_waiting, sheet_of_run

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Request


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """A folder with an order that waits for looks."""
    yield from open_waiting(tmp_path_factory.mktemp("studio"))


@pytest.fixture
def tabs(browser: "Browser", opened: OpenPage) -> "Iterator[tuple[Page, Page]]":
    context = browser.new_context()
    one, other = context.new_page(), context.new_page()
    one.goto(opened.address)
    other.goto(f"http://{opened.host}/")
    yield one, other
    context.close()


@pytest.mark.slow
def test_the_second_to_keep_a_text_is_told_and_loses_nothing(
    tabs: "tuple[Page, Page]", opened: OpenPage
) -> None:
    path = opened.folder / "tags" / "order.yaml"
    before = path.read_text("utf-8")
    for page in tabs:
        page.goto(f"http://{opened.host}{opened.order}/text")
    for remark, page in zip(("# one\n", "# other\n"), tabs, strict=True):
        page.fill("textarea", before + remark)
        with page.expect_navigation():
            page.click("button[value=keep]")
    assert path.read_text("utf-8") == before + "# one\n"
    other = tabs[1]
    assert other.locator("text=was changed elsewhere").count()
    assert other.locator("textarea").input_value() == before + "# other\n"
    path.write_text(before, "utf-8")


def click_twice(page: "Page", what: str) -> int:
    """Click as many people do on any button, and return how often its form was sent."""
    sent: list[str] = []
    page.on("request", lambda asked: sent.append(asked.url) if is_sent_on(asked) else None)
    with page.expect_navigation():
        page.evaluate(
            """(what) => {
                const one = document.querySelector(what);
                one.click();
                setTimeout(() => one.click(), 150);
            }""",
            what,
        )
    return len(sent)


def is_sent_on(asked: "Request") -> bool:
    return asked.method == "POST" and asked.is_navigation_request()


@pytest.mark.slow
def test_two_clicks_on_a_button_are_one(
    tabs: "tuple[Page, Page]", opened: OpenPage, tmp_path: Path
) -> None:
    path, page = opened.folder / "tags" / "order.yaml", tabs[0]
    before = path.read_text("utf-8")
    page.goto(f"http://{opened.host}{opened.order}/text")
    page.fill("textarea", before + "# once\n")
    assert click_twice(page, "button[value=keep]") == 1
    page.locator("text=The order file is kept as typed").wait_for()
    page.click("text=Take back")
    page.locator("text=as it was before").wait_for()
    assert path.read_text("utf-8") == before

    card = tmp_path / "card.pdf"
    card.write_bytes(document(b"0.85 0.2 0.6 0.3 k 10 10 60 60 re f"))
    page.goto(f"http://{opened.host}/begin")
    page.fill("[name=name]", "twice")
    page.set_input_files("[name=artwork]", card)
    assert click_twice(page, "main button") == 1
    page.locator(".palette").wait_for()


@pytest.mark.slow
def test_looks_from_two_tabs_and_a_command_line_are_all_kept(
    tabs: "tuple[Page, Page]", opened: OpenPage
) -> None:
    order, sheet = opened.folder / "tags", sheet_of_run(opened)
    at = f"http://{opened.host}{opened.order}/look/{sheet}"
    for name, page in zip(("Ada", "Bo"), tabs, strict=True):
        page.goto(f"{at}?by={name}&light=window")
        page.locator(".tile").first.wait_for()
    swatch = tabs[0].locator(".tile").nth(1).get_attribute("value")
    pick = f"{_colour_of(opened)}={swatch}"
    words = ["record", sheet, "--pick", pick, "--by", "Cy", "--order", str(order)]
    command = subprocess.Popen([sys.executable, "-m", "inkaccord.cli.main", *words])
    for page in tabs:
        page.locator(".tile").nth(1).click()
        page.locator("text=Kept:").wait_for()
    assert command.wait(60) == 0
    with Shelf.open(order / "shelf.sqlite") as shelf:
        assert {it.pick.by for it in shelf.picks_of_sheet(sheet)} == {"Ada", "Bo", "Cy"}


@pytest.mark.slow
def test_a_run_in_one_tab_shows_in_the_other_and_goes_with_one_of_a_terminal(
    tabs: "tuple[Page, Page]", opened: OpenPage
) -> None:
    order = opened.folder / "tags"
    path = order / "order.yaml"
    path.write_text(path.read_text("utf-8") + "# once more\n", "utf-8")
    for page in tabs:
        page.goto(f"http://{opened.host}{opened.order}")
    words = [sys.executable, "-m", "inkaccord.cli.main", "run", str(order)]
    with subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as command:
        for page in tabs:
            page.locator("button:has-text('Run again')").click()
        assert command.wait(120) in {0, 3}
    for page in tabs:
        page.locator("[data-progress]").wait_for(state="detached", timeout=120_000)
        page.reload()
        assert page.locator("text=Changed since its last run").count() == 0
        assert page.locator("text=Where it stands").count() == 1


def _colour_of(opened: OpenPage) -> str:
    """Return the colour that the order's sheet offers to the eye."""
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        sheet = shelf.sheet(sheet_of_run(opened))
    return next(it.colour for it in sheet.swatches if it.colour)
