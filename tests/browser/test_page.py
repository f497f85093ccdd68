"""The page in a real browser: a whole order by clicks alone, quiet, at every width, in the dark."""

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import pytest

from browser_kit import axe_findings
from inkaccord.colour.pairs import Pair
from inkaccord.sheets.model import Pick
from inkaccord.sheets.planning.plan import named
from inkaccord.shelf.store import Shelf
from inkaccord.web.joining import own_addresses
from recording_kit import fill_in
from run_kit import inkaccord, run_of, state
from scan_kit import drawn_sheet, on_one_glass
from web_kit import OpenPage, open_page, studio

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PAGES = ("", "/pieces", "/suite", "/text", "/shelf", "/shelf/{sheet}", "/target", "/again",
         "/ask?colour=lab+41+-20+8", "/book", "/book/colour?name=slate", "/make", "/copies",
         "/another", "/differences", "/cost", "/compare", "/read/{sheet}", "/look/{sheet}",
         "/look/{sheet}?by=Ada&light=")  # fmt: skip


ONE = drawn_sheet("a7-envelope", colours=1, each=5, pair="laser@kraft")
COMPARED = ONE, named(ONE.model_copy(update={"pair": Pair.parse("jet@kraft")}))


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """A folder with an order that nobody has run."""
    folder = tmp_path_factory.mktemp("studio")
    order = studio(folder)
    with Shelf.open(order / "shelf.sqlite") as shelf:
        for sheet in COMPARED:
            shelf.add_sheet(sheet)
        shelf.record_picks([Pick(sheet=COMPARED[0].id, colour="kelp", swatch="A2", sure=1.0)])
    for words in (["slate", "lab 45 0 -5", "--client", "Quay"], ["roof", "--by-eye", "the roof"]):
        assert inkaccord("book", "add", *words, "--order", order)[0] == 0
    yield from open_page(folder, *(["--on-network"] if own_addresses() else []))


BUSY = {
    "/make": ("The swatches are being chosen", {"pair": "laser@kraft"}),
    "/ask": ("Each pair is being asked", {"colour": "lab 41 -20 8"}),
}


@pytest.mark.slow
@pytest.mark.parametrize("at", BUSY)
def test_what_takes_longer_than_a_moment_gives_a_sign_of_life(
    quiet: "Page", opened: OpenPage, at: str
) -> None:
    words, fields = BUSY[at]
    page, held = quiet, []
    page.goto(f"http://{opened.host}{at}")
    for name, value in fields.items():
        page.locator(f"form[data-busy] [name={name}]").first.fill(value)
    assert page.locator(".busy").count() == 0
    page.route("**/*", lambda route: held.append(route) if not held else route.continue_())
    # Playwright waits for a page that is being left, so the page itself looks.
    said, wide = page.evaluate(
        """() => new Promise((done) => {
            document.querySelector("form[data-busy] button").click();
            setTimeout(() => done([document.querySelector(".busy")?.innerText,
                document.documentElement.scrollWidth - innerWidth]), 2900);
        })"""
    )
    assert re.fullmatch(rf"{words}.* … [23] s", said)
    assert wide <= 0
    held[0].continue_()
    page.wait_for_load_state()
    assert page.locator(".busy").count() == 0


@pytest.mark.slow
def test_an_order_is_brought_to_its_parcels_by_clicks_alone(
    quiet: "Page", opened: OpenPage, tmp_path: Path
) -> None:
    order, page = opened.folder / "tags", quiet
    page.click("a.order")
    page.click("button:has-text('Run')")
    sheet = page.locator("a:has-text('Look by eye')")
    sheet.wait_for(timeout=60_000)
    (made,) = run_of(order)["samples"]
    with page.context.expect_page() as shown:
        page.click("text=Open the sheet")
    shown.value.close()

    page.click("text=Take in its readings")
    read = tmp_path / "from the instrument.txt"
    fill_in(order / "out" / made["table"], read)
    page.set_input_files("input[type=file]", read)
    page.click("text=Show what is understood")
    page.click("button:has-text('Keep')")

    page.goto(page.url.partition("?")[0] + f"/look/{made['id']}")
    page.fill("[name=by]", "Ada")
    page.fill("[name=light]", "north window")
    page.keyboard.press("Enter")
    page.locator(".tile:visible").first.wait_for()
    while page.locator(".tile:visible").count():
        tiles = page.locator(".tile:visible")
        tiles.nth(tiles.count() // 2).focus()
        page.keyboard.press("Enter")
        page.locator("text=Kept:").wait_for()
        with page.expect_navigation():
            page.click("text=Go on")
    page.click("text=Back to the order")
    page.click("button:has-text('Run again')")
    page.locator("[data-progress]").wait_for()
    page.locator("[data-progress]").wait_for(state="detached", timeout=60_000)
    assert {it["status"]: it["why"] for it in run_of(order)["pieces"]} == {"ready": ""}

    # The same order, run on the command line, gives the same bytes.
    before = {name: data for name, (_, data) in state(order / "out").items()}
    shutil.rmtree(order / "out")
    inkaccord("run", order)
    assert {name: data for name, (_, data) in state(order / "out").items()} == before


@pytest.mark.slow
@pytest.mark.parametrize(("width", "scheme"), [(360, "light"), (800, "dark"), (1400, "light")])
def test_every_page_fits_its_window_and_axe_core_finds_nothing(
    quiet: "Page", opened: OpenPage, width: int, scheme: str
) -> None:
    order = opened.folder / "tags"
    inkaccord("run", order)
    sheet = first_sheet(order)
    quiet.set_viewport_size({"width": width, "height": 900})
    quiet.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
    at = f"http://{opened.host}"
    for path in (
        "/",
        "/begin",
        "/devices",
        "/join",
        "/book",
        "/ask",
        "/recolour",
        *(opened.order + it.format(sheet=sheet) for it in PAGES),
    ):
        quiet.goto(at + path)
        fits(quiet, width)


@pytest.mark.slow
@pytest.mark.parametrize(("width", "scheme"), [(360, "dark"), (390, "light"), (1400, "light")])
def test_what_a_form_is_answered_with_fits_too(
    quiet: "Page", opened: OpenPage, width: int, scheme: Literal["light", "dark"]
) -> None:
    page, at = quiet, f"http://{opened.host}"
    page.set_viewport_size({"width": width, "height": 900})
    page.emulate_media(color_scheme=scheme)

    page.goto(f"{at}{opened.order}/make?pair=jet@kraft")
    page.click("text=Make the controls")
    page.locator("#h-made").wait_for()
    fits(page, width)

    zipped = page.request.get(f"{at}{opened.order}/copies/shelf.zip").body()
    page.goto(f"{at}{opened.order}/another")
    page.set_input_files("[name=file]", {"name": "a.zip", "mimeType": "", "buffer": zipped})
    page.click("text=Show what is new")
    page.locator("text=Nothing of it is new here").wait_for()
    fits(page, width)

    page.goto(f"{at}{opened.order}/compare")
    for name, sheet in zip(("one", "other"), COMPARED, strict=True):
        page.fill(f"[name={name}]", sheet.id)
    scan = {"name": "a.png", "mimeType": "", "buffer": on_one_glass(*COMPARED)}
    page.set_input_files("[name=file]", scan)
    page.click("text=Show what it tells")
    page.locator("#h-same").wait_for(timeout=60_000)
    fits(page, width)

    page.goto(f"{at}/recolour")
    page.set_input_files("[name=file]", opened.folder / "tags" / "tag.pdf")
    page.click("text=See its colours")
    page.locator(".palette").wait_for()
    fits(page, width)
    page.fill('[name="becomes/cmyk 85 20 60 30"]', "cmyk 78 12 55 41")
    page.keyboard.press("Enter")
    page.locator("text=The copy is right").wait_for()
    fits(page, width)


def fits(page: "Page", width: int) -> None:
    page.wait_for_load_state()  # a form's answer may be there before its styles
    assert page.evaluate("document.documentElement.scrollWidth") <= width, page.url
    assert axe_findings(page) == [], page.url


def first_sheet(order: Path) -> str:
    """A sheet of the order's, whether it waits or a test before this one had it looked at."""
    with Shelf.open(order / "shelf.sqlite") as shelf:
        sheets = [it.sheet for it in shelf.sheets(Pair.parse("press@card"))]
    return next(it.id for it in sheets if any(swatch.for_eye for swatch in it.swatches))


GROUNDS = """() => [...document.querySelectorAll(".tile")].flatMap((it) => {
  const found = [];
  for (let at = it; at; at = at.parentElement) found.push(getComputedStyle(at).backgroundColor);
  return found.filter((one) => one !== "rgba(0, 0, 0, 0)");
})"""


@pytest.mark.slow
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_look_on_a_telephone_is_dark_and_neutral_all_round(
    quiet: "Page", opened: OpenPage, scheme: Literal["light", "dark"]
) -> None:
    inkaccord("run", opened.folder / "tags")
    sheet = first_sheet(opened.folder / "tags")
    quiet.set_viewport_size({"width": 390, "height": 844})
    quiet.emulate_media(color_scheme=scheme)
    quiet.goto(f"http://{opened.host}{opened.order}/look/{sheet}?by=Ida&light=lamp")
    (ground,) = set(quiet.evaluate(GROUNDS))
    red, green, blue = map(int, re.findall(r"\d+", ground))
    assert red == green == blue < 64
    tiles = quiet.locator(".tile:visible")
    boxes = [tiles.nth(at).bounding_box() for at in range(tiles.count())]
    assert boxes
    assert all(it["width"] >= 44 and it["height"] >= 44 for it in boxes)  # a finger: WCAG 2.5.5


@pytest.mark.slow
def test_a_run_is_stopped_after_a_question_and_without_scripts(
    browser: "Browser", tmp_path: Path
) -> None:
    studio(tmp_path)
    with (
        contextmanager(open_page)(tmp_path) as opened,
        browser.new_context(java_script_enabled=False) as context,
    ):
        page = context.new_page()
        page.goto(opened.address)
        page.goto(f"http://{opened.host}{opened.order}")
        page.click("form[action$='/run'] button")
        sure = page.get_by_text("Yes, stop the run")
        assert not sure.is_visible()
        page.click("text=Stop …")
        sure.click()
        opened.get(f"{opened.order}/progress")  # to its end
        assert "stopped before its end" in opened.get(opened.order).text


@pytest.mark.slow
@pytest.mark.parametrize("width", [360, 800, 1400])
def test_no_field_cuts_off_what_is_typed(quiet: "Page", opened: OpenPage, width: int) -> None:
    page = quiet
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"http://{opened.host}{opened.order}/pieces")
    page.click("details.prices > summary")
    prices = page.locator("[name='field/vendors/studio/prices/table']")
    prices.fill("; ".join(f"0,{95 - n} up to {n * 100}" for n in range(1, 12)) + "; 0,80")
    assert cut_off(page) == []
    page.once("dialog", lambda asked: asked.accept())  # what was typed is not lost unasked
    page.goto(f"http://{opened.host}{opened.order}/ask")
    page.fill("[name=against]", "\n".join(f"cmyk {n} 20 60 30 on press@card" for n in range(5)))
    assert cut_off(page) == []


@pytest.mark.slow
def test_the_text_of_an_order_has_the_whole_width_until_something_is_said(
    quiet: "Page", opened: OpenPage
) -> None:
    quiet.set_viewport_size({"width": 1400, "height": 900})
    quiet.goto(f"http://{opened.host}{opened.order}/text")
    text, widths = quiet.locator("[name=text]"), []
    for more in ("", "nothing: like this\n"):
        text.fill(text.input_value() + more)
        quiet.locator("#said-count").filter(has_text="to look at" if more else "order").wait_for()
        widths.append(quiet.evaluate("document.querySelector('[name=text]').clientWidth"))
    assert widths[0] > 1.4 * widths[1]


def cut_off(page: "Page") -> list[str]:
    """The fields of several lines that show less than they hold."""
    found: list[str] = page.evaluate(
        "[...document.querySelectorAll('textarea')].filter((it) => it.checkVisibility() && "
        "(it.scrollHeight > it.clientHeight + 2 || it.scrollWidth > it.clientWidth + 2))"
        ".map((it) => it.name)"
    )
    return found


@pytest.mark.slow
@pytest.mark.parametrize("form", ["pieces", "text"])
def test_only_who_typed_something_is_asked_before_leaving(
    quiet: "Page", opened: OpenPage, form: str
) -> None:
    leave = "dispatchEvent(new Event('beforeunload', {cancelable: true}))"
    quiet.goto(f"http://{opened.host}{opened.order}/{form}")
    quiet.locator("button[value=keep]").first.wait_for()
    quiet.wait_for_load_state()
    assert quiet.evaluate(leave), "nothing was typed, and it asks all the same"
    field = quiet.locator("[name=text], [name='field/suites']").first
    field.fill(field.input_value() + "1")
    assert not quiet.evaluate(leave)
    with quiet.expect_event("dialog") as asked:
        quiet.evaluate("void setTimeout(() => location.assign('/'))")
    asked.value.accept()


@pytest.mark.slow
def test_a_field_that_is_wrong_is_invalid_to_a_screen_reader_until_it_is_mended(
    quiet: "Page", opened: OpenPage
) -> None:
    quiet.goto(f"http://{opened.host}{opened.order}/pieces")
    for typed, invalid in (("many", "true"), ("30", "false")):
        quiet.fill("[name='field/suites']", typed)
        quiet.locator(f"[name='field/suites'][aria-invalid={invalid}]").wait_for()
