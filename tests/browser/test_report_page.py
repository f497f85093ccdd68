"""The report in a real browser: quiet, offline, readable at every width, on paper, in the dark."""

import io
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pikepdf
import pytest
from PIL import Image

from inkaccord.report.screen import screen_colour
from report_kit import mid_flight

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

WIDTHS = (360, 800, 1400)

LUMINANCE = """
  const channel = (value) => {
    const share = value / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  };
  const luminance = ([red, green, blue]) =>
    0.2126 * channel(red) + 0.7152 * channel(green) + 0.0722 * channel(blue);
"""
"""Relative luminance as WCAG 2.2 defines it."""

CONTRASTS = (
    f"() => {{ {LUMINANCE}"
    + """
  const parse = (text) => text.match(/[0-9.]+/g).map(Number);
  const ground = (element) => {
    for (let it = element; it; it = it.parentElement) {
      const colour = parse(getComputedStyle(it).backgroundColor);
      if (colour.length < 4 || colour[3] > 0) return colour;
    }
    return [255, 255, 255];
  };
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    if (!node.data.trim()) continue;
    const element = node.parentElement, style = getComputedStyle(element);
    if (element.closest('.hidden') || style.visibility === 'hidden') continue;
    const ink = parse(element.closest('svg') ? style.fill : style.color);
    const size = parseFloat(style.fontSize), bold = parseInt(style.fontWeight) >= 700;
    const [light, dark] = [luminance(ink), luminance(ground(element))].sort((a, b) => b - a);
    const least = size >= 24 || (bold && size >= 18.66) ? 3 : 4.5;
    found.push({text: node.data.trim().slice(0, 40), ratio: (light + 0.05) / (dark + 0.05), least});
  }
  return found;
}
"""
)


@pytest.fixture
def page(browser: "Browser", report_path: Path, request: pytest.FixtureRequest) -> "Iterator[Page]":
    width, scheme = getattr(request, "param", (1400, "light"))
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    opened = context.new_page()
    opened.goto(report_path.as_uri())
    yield opened
    context.close()


def test_it_opens_without_a_word_to_the_console_or_the_network(
    browser: "Browser", report_path: Path
) -> None:
    context = browser.new_context()
    page = context.new_page()
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda problem: said.append(str(problem)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(report_path.as_uri())
    page.wait_for_load_state("networkidle")
    assert said == []
    assert [url for url in asked if not url.startswith("data:")] == [report_path.as_uri()]
    broken = page.evaluate("[...document.images].filter((it) => !it.naturalWidth).length")
    assert broken == 0
    context.close()


@pytest.mark.parametrize("page", [(width, "light") for width in WIDTHS], indirect=True)
def test_nothing_runs_over_the_edge_and_nothing_is_hidden(page: "Page") -> None:
    wide, room = page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert wide <= room
    for part in ("ready", "pieces", "colours", "pairs", "sheets", "findings"):
        box = page.locator(f"section#{part}").bounding_box()
        assert box is not None
        assert box["height"] > 100
    # What is wider than its place can be scrolled there, by the keyboard too.
    unreachable = page.evaluate(
        """() => [...document.querySelectorAll('main *')].filter((it) => {
            const box = it.getBoundingClientRect();
            return box.width && box.right > innerWidth + 1 && !it.closest('.scroll');
        }).length"""
    )
    assert unreachable == 0
    assert page.locator(".scroll:not([tabindex])").count() == 0


@pytest.mark.parametrize("page", [(width, "light") for width in (*WIDTHS, 540)], indirect=True)
def test_the_grounds_of_a_row_are_level_however_much_is_said_of_one_piece(page: "Page") -> None:
    for said in (".piece > p.quiet", ".piece figcaption"):
        page.locator(said).first.evaluate("(it) => it.append(' and more'.repeat(9))")
    grounds = page.evaluate(
        """() => [...document.querySelectorAll('.bench .piece')].map((piece) => [
            piece.getBoundingClientRect().top,
            ...[...piece.querySelectorAll('.stage')].map((stage) => {
                const box = stage.getBoundingClientRect();
                return [box.top, box.bottom];
            }),
        ])"""
    )
    rows: dict[float, set[str]] = {}
    for top, *stages in grounds:
        assert len(stages) == 2
        rows.setdefault(round(top), set()).add(str([[round(it) for it in one] for one in stages]))
    assert all(len(levels) == 1 for levels in rows.values()), rows
    wide = page.viewport_size
    assert wide is not None
    assert (len(rows) == len(grounds)) == (wide["width"] < 560), "wide ones stand side by side"


@pytest.mark.parametrize("page", [(800, "light"), (800, "dark")], indirect=True)
def test_all_text_has_the_contrast_of_wcag(page: "Page") -> None:
    """WCAG 2.2, success criterion 1.4.3, level AA: 4.5 to 1, and 3 to 1 for large type."""
    found = page.evaluate(CONTRASTS)
    assert len(found) > 300
    weak = [it for it in found if it["ratio"] < it["least"]]
    assert weak == []


@pytest.mark.parametrize("page", [(800, "light"), (800, "dark")], indirect=True)
def test_signs_stand_out_from_their_ground(page: "Page") -> None:
    """WCAG 2.2, success criterion 1.4.11: 3 to 1 for what one must see to understand."""
    ratios = page.evaluate(
        f"() => {{ {LUMINANCE}"
        """
            const root = getComputedStyle(document.documentElement);
            const light = (name) => {
                const hex = parseInt(root.getPropertyValue(name).trim().slice(1), 16);
                return luminance([hex >> 16, (hex >> 8) & 255, hex & 255]);
            };
            const names = ['--inside', '--eye', '--uncertain', '--outside', '--reach', '--text'];
            return names.map((name) => {
                const [a, b] = [light(name), light('--ground')].sort((x, y) => y - x);
                return (a + 0.05) / (b + 0.05);
            });
        }"""
    )
    assert min(ratios) >= 3


def test_dark_really_is_dark_and_the_swatches_stay_as_they_are(
    browser: "Browser", report_path: Path
) -> None:
    grounds, swatches = [], []
    for scheme in ("light", "dark"):
        context = browser.new_context(color_scheme=scheme)
        page = context.new_page()
        page.goto(report_path.as_uri())
        grounds.append(page.evaluate("getComputedStyle(document.body).backgroundColor"))
        swatch = page.locator(".swatch:not(.aim) div").nth(1)
        swatches.append(swatch.evaluate("(it) => getComputedStyle(it).backgroundColor"))
        context.close()
    assert grounds == ["rgb(246, 246, 246)", "rgb(20, 20, 20)"]
    assert swatches[0] == swatches[1]
    desk = mid_flight()
    wanted = screen_colour(desk.run.translations[0].predicted_lab).rgb
    assert swatches[0] == "rgb({}, {}, {})".format(*wanted)


def test_a_piece_is_drawn_in_the_colours_that_were_computed(page: "Page") -> None:
    picture = page.locator("img[alt^='invitation, page 1, matched builds']")
    shot = picture.screenshot()
    desk = mid_flight()
    known = desk.bench.pair(desk.order.jobs["invitation"].pair)
    with Image.open(io.BytesIO(shot)) as image:
        corner = image.convert("RGB").getpixel((6, 6))
    assert corner == screen_colour(known.model.paper_lab).rgb


def test_it_prints_on_a4_with_every_part_and_every_number(page: "Page") -> None:
    printed = page.pdf(format="A4", print_background=True)
    with pikepdf.open(io.BytesIO(printed)) as pdf:
        assert 5 <= len(pdf.pages) <= 25
    page.emulate_media(media="print")
    assert page.locator("nav").is_hidden()
    wide, room = page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert wide <= room
    page.set_viewport_size({"width": 680, "height": 960})  # A4 less its margins, in CSS pixels
    cut = page.evaluate(
        """() => [...document.querySelectorAll('td, th')].filter(
            (it) => it.getBoundingClientRect().right > innerWidth + 1).length"""
    )
    assert cut == 0


@pytest.mark.slow
def test_a_large_order_opens_short_and_shows_what_is_asked_for(
    browser: "Browser", large_report_path: Path
) -> None:
    context = browser.new_context(viewport={"width": 1400, "height": 900})
    page = context.new_page()
    page.goto(large_report_path.as_uri())
    assert page.locator("details[open]").count() == 0
    assert page.evaluate("document.documentElement.scrollHeight") < 45_000
    wide, room = page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert wide <= room
    page.locator("a[href='#colour-7']").click()
    assert page.locator("#colour-7").is_visible()
    assert page.locator("details[open]").count() == 1
    page.locator("summary", has_text="device-03@").press("Enter")
    assert page.locator("#pair-4 .chart").first.is_visible()
    page.emulate_media(media="print")
    assert page.locator("#colour-20 table.matrix").is_visible()  # paper has no button to press
    context.close()


def test_the_keyboard_reaches_every_part(page: "Page") -> None:
    for at in range(6):
        page.keyboard.press("Tab")
        target = page.evaluate("document.activeElement.getAttribute('href')")
        assert target == f"#{('ready', 'pieces', 'colours', 'pairs', 'sheets', 'findings')[at]}"
    assert page.locator("main").count() == 1
