"""From dropped artwork to a checked order in a real browser, by keyboard alone and by pointing."""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from artwork_kit import document
from browser_kit import axe_findings, choose_files_by_keys
from run_kit import inkaccord
from web_kit import OpenPage, open_page

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

CARD = document(b"0.85 0.2 0.6 0.3 k 10 10 60 60 re f 0.0392 0.0314 0.0314 rg 80 80 10 10 re f")
TAG = document(b"0.84 0.2 0.6 0.3 k 20 20 40 40 re f")


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    folder = tmp_path_factory.mktemp("studio")
    (folder / "orders").mkdir()
    for name, data in (("card", CARD), ("tag", TAG)):
        (folder / f"{name}.pdf").write_bytes(data)
    yield from open_page(folder / "orders")


def tab_to(page: "Page", selector: str) -> None:
    """Go on by the tabulator until something has the focus."""
    for _ in range(400):
        page.keyboard.press("Tab")
        if page.evaluate("(it) => document.activeElement.matches(it)", selector):
            return
    raise AssertionError(f"no way by keyboard to {selector}")


UNCOVERED = """(it) => {
  const box = document.activeElement.getBoundingClientRect();
  const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  return top === document.activeElement;
}"""


def type_into(page: "Page", name: str, text: str) -> None:
    """Type into a field; nothing that stays in place while the page scrolls covers it."""
    tab_to(page, f'[name="{name}"]')
    assert page.evaluate(UNCOVERED), f"{name} is covered"
    page.keyboard.press("Control+a")
    page.keyboard.type(text)


@pytest.mark.slow
def test_an_order_is_begun_and_checked_by_keyboard_alone(quiet: "Page", opened: OpenPage) -> None:
    page, order = quiet, opened.folder / "winter" / "order.yaml"
    tab_to(page, "a[href='/begin']")
    page.keyboard.press("Enter")
    page.locator("[name=name]").wait_for()
    type_into(page, "name", "winter")
    tab_to(page, "[name=artwork]")
    choose_files_by_keys(page, [opened.folder.parent / f"{name}.pdf" for name in ("card", "tag")])
    tab_to(page, "button")
    page.keyboard.press("Enter")
    page.locator(".palette").wait_for(timeout=60_000)

    type_into(page, "is/cmyk 85 20 60 30", "leaf")
    shown = page.locator("[data-seen]").first.get_attribute("src")
    assert shown.endswith("?show=cmyk%2085%2020%2060%2030")
    type_into(page, "is/cmyk 84 20 60 30", "leaf")
    page.keyboard.press("Shift+Tab")
    for _ in range(8):  # back over what scrolled away, and on again
        page.keyboard.press("Shift+Tab")
    type_into(page, "is/cmyk 85 20 60 30", "leaf")
    type_into(page, "call/vendors/studio", "harbour-print")
    type_into(page, "call/vendors/studio/devices/my-printer", "press")
    type_into(page, "call/stocks/cotton-card", "cotton")
    type_into(page, "field/suites", "many")
    beside = page.locator('[id="said-field/suites"]')
    beside.locator("text=is not a whole number").wait_for()
    assert "harbour-print:" in page.locator("#said-file").inner_text()
    assert "harbour-print" not in order.read_text("utf-8")  # nothing is kept while one types
    page.keyboard.press("Control+a")
    page.keyboard.type("75")
    beside.locator("p").wait_for(state="detached")
    tab_to(page, "button[value=keep]")
    page.keyboard.press("Enter")
    page.locator("text=Run it for the first time").wait_for()

    text = order.read_text("utf-8")
    assert "in_artwork: [cmyk 85 20 60 30, cmyk 84 20 60 30]" in text
    assert re.search(r"^keep: \[rgb 10 8 8\]", text, re.M)
    assert "suites: 75" in text
    assert "device: press" in text
    assert "stock: cotton" in text
    code, _, said = inkaccord("check", order)
    assert code == 4, "as its run would end"
    assert "rgb 10 8 8 (#0A0808)); this vendor takes cmyk" in said


@pytest.mark.slow
def test_going_to_the_bar_that_is_always_in_sight_moves_nothing(
    quiet: "Page", opened: OpenPage
) -> None:
    page, order = quiet, opened.folder / "still"
    inkaccord("new", order, "--from", opened.folder.parent / "card.pdf")
    page.goto(f"http://{opened.host}/")
    page.click("a.order:has-text('still')")
    page.click("nav >> text=Pieces and colours")
    page.locator(".palette").wait_for()
    page.wait_for_load_state()  # before, the page is too short for it
    page.evaluate("scrollTo(0, 700)")
    page.locator(".bar button[value=keep]").focus()
    assert page.evaluate("scrollY") == 700


@pytest.mark.slow
@pytest.mark.parametrize(
    ("width", "scheme"), [(360, "dark"), (390, "light"), (800, "light"), (1400, "dark")]
)
def test_a_colour_is_pointed_at_and_what_is_wrong_stands_beside_its_line(
    quiet: "Page", opened: OpenPage, width: int, scheme: str
) -> None:
    page, order = quiet, opened.folder / f"o{width}"
    inkaccord("new", order, "--from", opened.folder.parent / "card.pdf")
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    page.goto(f"http://{opened.host}/")
    page.click(f"a.order:has-text('o{width}')")
    page.click("nav >> text=Pieces and colours")
    picture = page.locator("[data-seen]").first
    picture.wait_for()
    page.wait_for_load_state()  # before, it may not have its size
    box = picture.bounding_box()
    picture.click(position={"x": box["width"] * 0.85, "y": box["height"] * 0.15})
    page.locator("li.shown[data-paint='rgb 10 8 8']").wait_for()
    assert page.evaluate("document.activeElement.name") == "is/rgb 10 8 8"
    fits(page, width)

    page.click("nav >> text=Order file")
    text = page.locator("textarea")
    lines = text.input_value().split("\n")
    at = next(number for number, line in enumerate(lines, start=1) if "trim:" in line)
    text.fill(text.input_value().replace("    trim: ", "    trmi: "))
    said = page.locator(f'[data-line="{at}"]')
    said.locator("text=did you mean 'trim'?").wait_for()
    assert page.locator(".numbers b").last.inner_text().strip() == f"▸{at}"
    if width >= 1000:  # beside, else above
        text_top, said_top = text.bounding_box()["y"], said.bounding_box()["y"]
        assert abs(said_top - text_top - (at - 1) * 22) < 70
    fits(page, width)
    page.once("dialog", lambda asked: asked.accept())  # what was typed is not lost unasked


def fits(page: "Page", width: int) -> None:
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert axe_findings(page) == []


@pytest.mark.slow
def test_what_was_typed_stays_where_nothing_answers_any_more(
    browser: "Browser", opened: OpenPage
) -> None:
    """A form that is sent to a page that ended would leave the browser's own page of errors."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(opened.address)
    page.click("a[href='/begin']")
    page.fill("[name=name]", "autumn")
    page.locator("[name=artwork]").set_input_files([opened.folder.parent / "card.pdf"])
    page.locator("main button").first.click()
    page.locator("[name='field/suites']").wait_for()
    page.fill("[name='field/suites']", "61")
    context.set_offline(True)
    page.locator("button[value=keep]").first.click()
    page.locator("text=Nothing answers here any more").wait_for()
    assert page.input_value("[name='field/suites']") == "61"
    context.set_offline(False)
    with page.expect_navigation():
        page.locator("button[value=keep]").first.click()
    assert "suites: 61" in (opened.folder / "autumn" / "order.yaml").read_text("utf-8")

    page.go_back()
    shown = page.locator("[name='field/suites']")
    shown.wait_for()
    (opened.folder / "autumn").rename(opened.folder.parent / "elsewhere")
    shown.fill("62")
    page.locator("text=Nothing answers here any more").wait_for()
    context.close()
