"""From artwork to order by the form alone, without scripts."""

import html
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pytest
import yaml

from artwork_kit import document
from inkaccord.foresight import taking_stock
from inkaccord.order.loading import load_order
from inkaccord.units import millimetres
from run_kit import inkaccord
from web_kit import Answer, OpenPage, PageHere, once_known, open_page, send_form, studio

GREEN, SLIP, BLACK = b"0.85 0.2 0.6 0.3 k ", b"0.84 0.2 0.6 0.3 k ", b"0.0392 0.0314 0.0314 rg "
CARD = document(GREEN + b"10 10 60 60 re f " + BLACK + b"80 80 10 10 re f")
TAG = document(SLIP + b"20 20 40 40 re f")


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    folder = tmp_path_factory.mktemp("studio")
    studio(folder)
    yield from open_page(folder)


@pytest.fixture
def begun(opened: OpenPage) -> Iterator[str]:
    """The address of an order that was begun from two files, one with a slip of the other."""
    answer = send(opened, "/begin", {"name": "winter"}, {"card.pdf": CARD, "tag.pdf": TAG})
    yield answer.headers["location"]
    shutil.rmtree(opened.folder / "winter")


def send(
    opened: OpenPage, path: str, fields: dict[str, str], files: dict[str, bytes] | None = None
) -> Answer:
    """Send a form with artwork."""
    artworks = [("artwork", name, data) for name, data in (files or {}).items()]
    return send_form(opened, path, fields, artworks)


def fields_of(page: str) -> dict[str, str]:
    """Return a form as it stands on a page, its buttons left out."""
    found = {}
    for tag in re.findall(r"<input [^>]*>", page):
        kind = re.search(r'type="(\w+)"', tag)
        if kind and (
            kind[1] in {"file", "image"} or (kind[1] == "checkbox" and "checked" not in tag)
        ):
            continue
        value = re.search(r'value="([^"]*)"', tag)
        found[re.search(r'name="([^"]*)"', tag)[1]] = value[1] if value else "on"
    for name, inside in re.findall(
        r'<textarea [^>]*name="([^"]*)"[^>]*>\n(.*?)</textarea>', page, re.S
    ):
        found[name] = html.unescape(inside)
    for name, inside in re.findall(r'<select [^>]*name="([^"]*)"[^>]*>(.*?)</select>', page, re.S):
        chosen = re.search(r'value="([^"]*)" selected', inside)
        found[name] = chosen[1] if chosen else ""
    return found


def text_of(opened: OpenPage) -> str:
    return (opened.folder / "winter" / "order.yaml").read_text("utf-8")


def test_what_is_shown_and_kept_again_changes_no_byte(opened: OpenPage, begun: str) -> None:
    before = text_of(opened)
    page = opened.get(begun).text
    assert "35.28 × 35.28 mm as read, 1 page" in page
    assert "12.7 cm²" not in page
    assert f"{36 * 100 / 72**2 * 25.4**2 / 100:.1f} cm² on card" in page  # 60 by 60 points
    assert send(opened, begun, fields_of(page) | {"do": "keep"}).status == 303
    assert text_of(opened) == before


def test_a_form_that_is_sent_twice_is_kept_once(opened: OpenPage, begun: str) -> None:
    typed = fields_of(opened.get(begun).text) | {"field/suites": "75", "do": "keep"}
    assert send(opened, begun, typed).status == 303
    text = text_of(opened)
    assert "suites: 75" in text
    assert send(opened, begun, typed).status == 303
    assert send(opened, begun, typed | {"field/suites": "80"}).status == 409
    assert text_of(opened) == text


def test_a_near_miss_is_offered_and_joined_and_all_is_named(opened: OpenPage, begun: str) -> None:
    page = opened.get(begun).text
    assert "Nearly <b>cmyk 85 20 60 30</b>" in page
    shown = send(opened, begun, fields_of(page) | {"join/cmyk 84 20 60 30": "blue-green"})
    typed = fields_of(shown.text)
    assert typed["is/cmyk 84 20 60 30"] == "blue-green"
    assert re.search(r'name="is/cmyk 84 20 60 30"[^>]* autofocus', shown.text), "one goes on there"
    typed |= {"is/cmyk 85 20 60 30": "leaf", "is/cmyk 84 20 60 30": "leaf", "do": "keep"}
    assert send(opened, begun, typed).status == 303
    text = text_of(opened)
    assert "  leaf:   # " in text
    assert "in_artwork: [cmyk 85 20 60 30, cmyk 84 20 60 30]" in text
    assert "blue-green" not in text
    assert "rgb 10 8 8" in text.partition("keep:")[2].partition("\n")[0]


def test_what_is_odd_stands_beside_the_field_and_what_was_typed_stays(
    opened: OpenPage, begun: str
) -> None:
    before = text_of(opened)
    typed = fields_of(opened.get(begun).text)
    typed |= {
        "field/pieces/tag/trim": "1in x 2in",
        "field/suites": "many",
        "field/title": 'Ours & <b>"theirs"</b>',
        "do": "check",
    }
    page = send(opened, begun, typed).text
    beside = page.partition('id="said-field/suites"')[2].partition("</div>")[0]
    assert "many" in beside
    assert re.findall(r'name="([^"]*)"[^>]* aria-invalid="true"', page) == ["field/suites"]
    assert "&lt;b&gt;" in page
    assert fields_of(page)["field/suites"] == "many"
    kept = send(opened, begun, typed | {"do": "keep"})
    assert kept.status == 409
    assert fields_of(kept.text)["field/pieces/tag/trim"] == "1in x 2in"
    assert text_of(opened) == before
    page = send(opened, begun, typed | {"field/suites": "80"}).text
    beside = page.partition('id="said-field/pieces/tag/trim"')[2].partition("</div>")[0]
    assert "1 × 2 in" in beside  # the file is of another size, as 'check' says it


def test_stand_ins_are_called_by_their_names_wherever_they_stand(
    opened: OpenPage, begun: str
) -> None:
    typed = fields_of(opened.get(begun).text) | {
        "call/vendors/studio": "harbour-print",
        "call/vendors/studio/devices/my-printer": "press",
        "call/stocks/cotton-card": "cotton",
        "field/vendors/studio/devices/my-printer/sheets": "letter, 12x18",
        "do": "keep",
    }
    assert send(opened, begun, typed).status == 303
    text = text_of(opened)
    for gone in ("studio", "my-printer", "cotton-card"):
        assert gone not in text
    assert "on: press@cotton" in text
    assert "press: {sheets: [letter, 12x18]}" in text
    assert text.count("device: press") == 2
    field = "field/vendors/harbour-print/devices/press/sheets"
    assert fields_of(opened.get(begun).text)[field] == "letter, 12x18"
    lines = {field: "letter, 12x18\r\nlegal,\r\n13x19\r\n", "do": "keep"}
    assert send(opened, begun, fields_of(opened.get(begun).text) | lines).status == 303
    assert "press: {sheets: [letter, 12x18, legal, 13x19]}" in text_of(opened)


def test_a_piece_is_called_otherwise_or_left_out_wherever_it_is_spoken_of(
    opened: OpenPage, begun: str
) -> None:
    kept = text_of(opened).replace(
        "pieces:\n", "assembly: [card, tag]   # the card lies behind\npieces:\n"
    )
    kept = kept.replace("  tag:\n", "  tag:\n    goes: with card\n")
    (opened.folder / "winter" / "order.yaml").write_text(kept, "utf-8")
    typed = fields_of(opened.get(begun).text) | {"call/pieces/card": "invitation"}
    shown = send(opened, begun, typed | {"field/pieces/card/trim": "3 x", "do": "check"})
    beside = shown.text.partition('id="said-field/pieces/card/trim"')[2].partition("</div>")[0]
    assert "has no unit" in beside  # found at 'invitation', said beside the field of the form
    assert send(opened, begun, typed | {"do": "keep"}).status == 303
    order = yaml.safe_load(text_of(opened))
    assert list(order["pieces"]) == ["invitation", "tag"]
    assert order["pieces"]["tag"]["goes"] == "with invitation"
    assert "assembly: [invitation, tag]   # the card lies behind" in text_of(opened)

    typed = fields_of(opened.get(begun).text) | {"leave-out/pieces/tag": "on"}
    assert 'name="leave-out/pieces/tag" checked' in send(opened, begun, typed).text
    assert "  tag:" in text_of(opened)
    assert send(opened, begun, typed | {"do": "keep"}).status == 303
    order = yaml.safe_load(text_of(opened))
    assert list(order["pieces"]) == ["invitation"]
    assert order["assembly"] == ["invitation"]


def test_more_artwork_and_another_printer_come_to_an_order(opened: OpenPage, begun: str) -> None:
    typed = fields_of(opened.get(begun).text) | {"field/suites": "75"}
    more = send(opened, begun, typed | {"do": "add-artwork"}, {"tag.pdf": CARD})
    assert more.status == 303
    assert (opened.folder / "winter" / "artwork" / "tag-2.pdf").read_bytes() == CARD
    text = text_of(opened)
    assert "suites: 75" in text
    assert "  tag-2:\n    artwork: artwork/tag-2.pdf\n" in text

    page = opened.get(begun).text
    assert "saved:" not in page  # the vendor of the other order is called as the stand-in is
    typed = fields_of(page) | {"call/vendors/studio": "harbour-print", "do": "keep"}
    assert send(opened, begun, typed).status == 303
    page = opened.get(begun).text
    saved = re.search(r'value="(saved:\w+/studio)"', page)[1]
    typed = fields_of(page) | {"printer": saved, "do": "add-printer"}
    assert send(opened, begun, typed).status == 303
    vendor = yaml.safe_load(text_of(opened))["vendors"]["studio"]
    assert vendor == {"delivers": "pieces", "devices": {"press": {}}}
    assert "  card: {size: letter, colour: [95, 0, 0]}\n" in text_of(opened)

    page = opened.get(begun).text
    new = fields_of(page) | {"do": "add-printer", "new/vendor": "binder", "new/device": "riso"}
    refused = send(opened, begun, new)
    assert refused.status == 409
    assert "a new printer needs a paper" in refused.text
    assert fields_of(refused.text)["new/device"] == "riso"
    kept = send(opened, begun, new | {"do": "keep"})
    assert kept.status == 409, "what was typed would be lost"
    assert "a new printer needs a paper" in kept.text
    assert send(opened, begun, new | {"new/stock": "kraft", "new/size": "a4"}).status == 303
    page = opened.get(begun).text
    typed = fields_of(page) | {"field/pieces/tag/device": "riso", "field/pieces/tag/stock": "kraft"}
    assert send(opened, begun, typed | {"do": "keep"}).status == 303
    assert re.search(r"tag:\n.*\n.*\n    device: riso\n    stock: kraft", text_of(opened))

    page = opened.get(begun).text
    more = {
        "new/vendor": "The Ättic",
        "new/device": "Proofer 1",
        "new/stock": "film",
        "new/size": "a4",
    }
    assert send(opened, begun, fields_of(page) | more | {"do": "keep"}).status == 303
    attic = yaml.safe_load(text_of(opened))["vendors"]["the-attic"]
    assert attic == {"title": "The Ättic", "devices": {"proofer-1": {}}}

    assert "from 2 vendors" in opened.get("/").text  # those that print something
    page = opened.get(begun).text
    assert "leave-out/stocks/kraft" not in page  # a piece is printed on it
    goes = {"leave-out/stocks/film": "on", "leave-out/vendors/the-attic": "on", "do": "keep"}
    assert all(f'name="{it}"' in page for it in list(goes)[:2])
    assert send(opened, begun, fields_of(page) | goes).status == 303
    order = yaml.safe_load(text_of(opened))
    assert "film" not in order["stocks"]
    assert "the-attic" not in order["vendors"]


def test_a_printer_that_prints_nothing_any_more_is_left_out(opened: OpenPage, begun: str) -> None:
    new = {"new/vendor": "studio", "new/device": "riso", "new/stock": "kraft", "new/size": "a4"}
    typed = fields_of(opened.get(begun).text) | new
    assert send(opened, begun, typed | {"do": "add-printer"}).status == 303
    page = opened.get(begun).text
    goes = {"leave-out/vendors/studio/devices/riso": "on", "do": "keep"}
    assert f'name="{next(iter(goes))}"' in page
    assert "leave-out/vendors/studio/devices/my-printer" not in page
    assert send(opened, begun, fields_of(page) | goes).status == 303
    assert list(yaml.safe_load(text_of(opened))["vendors"]["studio"]["devices"]) == ["my-printer"]


def test_a_stop_of_a_gradient_is_shown_as_itself(opened: OpenPage, tmp_path: Path) -> None:
    """Of what covers most of it a gradient has the look; small type is half paper."""
    fade = (
        "<< /Shading << /F << /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 20 0] /Extend "
        "[true true] /Function << /FunctionType 2 /N 1 /Domain [0 1] /C0 [0 0.501961 0] "
        "/C1 [1 1 1] >> >> >> >>"
    )
    data = document(b"/F sh 0 0 1 rg 50.3 50.3 0.2 30 re f", fade)
    answer = send(opened, "/begin", {"name": "fade"}, {"band.pdf": data})
    page = opened.get(answer.headers["location"]).text
    shown = dict(re.findall(r'<li data-paint="([^"]*)".*?fill="([^"]*)"', page, re.S))
    assert shown["rgb 0 128 0"] == "#008000"
    assert shown["rgb 0 0 255"] == "#0000ff"
    shutil.rmtree(opened.folder / "fade")


def test_a_file_that_is_none_leaves_the_order_as_it_was(opened: OpenPage, begun: str) -> None:
    before = text_of(opened)
    typed = fields_of(opened.get(begun).text) | {"field/suites": "75", "do": "add-artwork"}
    answer = send(opened, begun, typed, {"no.pdf": b"GIF89a"})
    assert answer.status == 409
    assert fields_of(answer.text)["field/suites"] == "75"
    assert text_of(opened) == before
    assert "Here already: no.pdf" in answer.text
    assert sorted(it.name for it in (opened.folder / "winter" / "artwork").iterdir()) == [
        "card.pdf",
        "tag.pdf",
    ]


def test_what_was_dropped_need_not_be_dropped_again(opened: OpenPage, begun: str) -> None:
    refused = send(opened, "/begin", {"name": "winter"}, {"tag.pdf": TAG})
    assert refused.status == 409
    assert "Here already: tag.pdf" in refused.text
    held = {"held": fields_of(refused.text)["held"], "name": "spring"}
    assert send(opened, "/begin", held).status == 303
    assert (opened.folder / "spring" / "artwork" / "tag.pdf").read_bytes() == TAG
    assert send(opened, "/begin", held | {"name": "autumn"}).status == 409  # they went with it
    shutil.rmtree(opened.folder / "spring")

    typed = fields_of(opened.get(begun).text) | {"field/suites": "no", "do": "keep"}
    wrong = send(opened, begun, typed, {"more.pdf": CARD})
    assert wrong.status == 409
    typed = fields_of(wrong.text) | {"field/suites": "60", "do": "keep"}
    assert send(opened, begun, typed).status == 303
    assert "  more:\n    artwork: artwork/more.pdf\n" in text_of(opened)


def test_a_click_in_the_picture_finds_the_colour_there(opened: OpenPage, begun: str) -> None:
    at = begun.replace("/pieces", "/seen/card/1")
    assert opened.get(f"{at}/at?x=0.4&y=0.6").text == "cmyk 85 20 60 30"
    assert opened.get(f"{at}/at?x=0.85&y=0.15").text == "rgb 10 8 8"
    assert opened.get(f"{at}/at?x=0.02&y=0.02").text == ""
    assert opened.get(f"{at}/at?x=nan&y=1e99").text == ""
    page = opened.get(begun).text
    image = re.search(r'name="at/card/1"[^>]*width="(\d+)" height="(\d+)"', page)
    x, y = int(image[1]) * 0.85, int(image[2]) * 0.15
    typed = fields_of(page) | {"at/card/1.x": f"{x:.0f}", "at/card/1.y": f"{y:.0f}"}
    shown = send(opened, begun, typed).text
    assert '<li data-paint="rgb 10 8 8" class="shown">' in shown
    assert opened.get(f"{at}.png?show=..%2fetc").status == 404
    assert opened.get(begun.replace("/pieces", "/seen/..%2fcard/1.png")).status == 404


def test_a_damaged_order_is_mended_as_text_first(opened: OpenPage, begun: str) -> None:
    path: Path = opened.folder / "winter" / "order.yaml"
    path.write_text(text_of(opened) + "suitse: 3\n", "utf-8")
    assert "did you mean &#39;suites&#39;?" in opened.get(begun).text
    assert send(opened, begun, {"do": "keep", "was": ""}).status == 200


def test_artwork_whose_page_has_no_size_leaves_the_form_as_it_is(tmp_path: Path) -> None:
    empty = document(setup=lambda _, page: page.obj.update({"/MediaBox": [0, 0, 0, 0]}))
    (studio(tmp_path) / "tag.pdf").write_bytes(empty)
    page = PageHere(tmp_path)
    shown = page.get(f"{page.order}/pieces")
    assert shown.status == 200
    assert "its artwork could not be read" in shown.text


def test_a_file_elsewhere_that_is_typed_is_not_opened(
    opened: OpenPage, begun: str, tmp_path: Path
) -> None:
    (tmp_path / "secret.pdf").write_bytes(TAG)
    typed = text_of(opened).replace("artwork/tag.pdf", str(tmp_path / "secret.pdf"))
    at = begun.replace("/pieces", "/text")
    page = opened.post(at, {"text": typed, "was": "", "do": "check"}).text
    assert "is looked into once it is kept" in page
    beside = opened.post(at, {"text": text_of(opened).replace("35.28", "40"), "do": "check"}).text
    assert "page 1 of artwork/tag.pdf" in beside


def test_each_artwork_is_looked_through_once_for_the_form_and_for_what_check_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stated(_: pikepdf.Pdf, page: pikepdf.Page) -> None:
        page.trimbox = page.mediabox

    order = studio(tmp_path)
    (order / "tag.pdf").write_bytes(document(GREEN + b"20 20 40 40 re f", setup=stated))
    looked: list[object] = []
    once = taking_stock.inventory

    def inventory(*args: object, **about: object) -> object:
        looked.append(about["name"])
        return once(*args, **about)  # type: ignore[arg-type]

    inventory.__module__, inventory.__qualname__ = once.__module__, once.__qualname__
    monkeypatch.setattr(taking_stock, "inventory", inventory)
    page = PageHere(tmp_path)
    at = f"{page.order}/pieces"
    assert "cmyk 85 20 60 30" in page.get(at).text
    assert page.post(at, {"do": "check", "field/suites": "many"}).status == 200
    assert looked == ["tag.pdf"]
    assert inkaccord("run", order)[0] == 3
    looked.clear()
    assert "cmyk 85 20 60 30" in PageHere(tmp_path).get(at).text
    assert looked == [], "a run has looked through it, and another start of the page knows"


def test_what_the_checks_of_a_run_will_say_stands_there_once_it_is_known(tmp_path: Path) -> None:
    (studio(tmp_path) / "tag.pdf").write_bytes(document(GREEN + b"0 0 100 100 re f"))
    page = PageHere(tmp_path)
    at = f"{page.order}/pieces"
    typed = {"do": "check", "field/vendors/studio/bleed": "0.125in"}
    first = page.post(at, typed).text
    assert "still being looked through" in first
    assert "It is in order" not in first
    shown = once_known(lambda: page.post(at, typed))
    assert "1 thing to look at" in shown, "colour runs to four cuts without bleed"
    first = re.findall(r'id="said-count".*?href="#(said-[^"]*)"', shown)
    assert first == ["said-pieces/tag"], "from the bar one comes to where it is said"
    beside = shown.partition('id="said-pieces/tag"')[2].partition("</div>")[0]
    assert "bleed" in beside


def test_a_bad_name_hides_nothing_else_that_is_said_of_the_order(tmp_path: Path) -> None:
    (studio(tmp_path) / "tag.pdf").write_bytes(document(GREEN + b"0 0 100 100 re f"))
    page = PageHere(tmp_path)
    typed = {"do": "check", "field/vendors/studio/bleed": "0.125in", "call/pieces/tag": "a tag!"}
    shown = once_known(lambda: page.post(f"{page.order}/pieces", typed))
    assert "2 things to look at" in shown, "the name, and colour that runs to four cuts"
    assert "is not a name" in shown
    assert page.post(f"{page.order}/pieces", typed | {"do": "keep"}).status == 409


@pytest.mark.parametrize(
    ("trim", "said"),
    [([9, 9, 81, 81], "1 × 1 in as read, 1 page, 0.125 in bleed"),
     ([9, 9, 80, 80], "25.05 × 25.05 mm as read, 1 page, 3.2 mm bleed")],
)  # fmt: skip
def test_bleed_is_told_in_the_unit_of_the_size(tmp_path: Path, trim: list[int], said: str) -> None:
    order = studio(tmp_path)

    def cut(_: pikepdf.Pdf, page: pikepdf.Page) -> None:
        page.obj.MediaBox = page.obj.BleedBox = pikepdf.Array([0, 0, 90, 90])
        page.obj.TrimBox = pikepdf.Array(trim)

    (order / "tag.pdf").write_bytes(document(GREEN + b"0 0 90 90 re f", setup=cut))
    page = PageHere(tmp_path)
    assert said in page.get(f"{page.order}/pieces").text


def test_bleed_that_is_missing_is_made_or_accepted_with_a_reason(tmp_path: Path) -> None:
    order = studio(tmp_path)
    (order / "tag.pdf").write_bytes(document(GREEN + b"0 0 100 100 re f"))
    with (order / "order.yaml").open("a", encoding="utf-8") as text:
        text.write("vendors.studio.bleed: 0.125in\n")
    page = PageHere(tmp_path)
    at, waive = f"{page.order}/pieces", "field/pieces/tag/waive"

    def said(**typed: str) -> str:
        return once_known(lambda: page.post(at, {"do": "check", **typed}))

    line = 'pieces.tag.waive.no-bleed: "why it is all right"'
    assert line in html.unescape(said())
    assert "1 thing to look at" in said()
    assert "It is in order" in said(**{"field/pieces/tag/bleed_repair": "mirror"})
    assert "It is in order" in said(**{waive: line})
    shown = page.get(at).text
    typed = fields_of(shown) | {"do": "keep", waive: "no-bleed: it is torn: so; line: fine hair"}
    assert page.post(at, typed).status == 303
    kept = load_order(order / "order.yaml", {}).order.pieces["tag"].waive
    assert kept == {"no-bleed": "it is torn: so", "line": "fine hair"}
    shown = page.get(at).text
    assert fields_of(shown)[waive] == "no-bleed: it is torn: so; line: fine hair"
    before = (order / "order.yaml").read_bytes()
    assert page.post(at, fields_of(shown) | {"do": "keep"}).status == 303
    assert (order / "order.yaml").read_bytes() == before
    (order / "order.yaml").write_bytes(before.replace(b"fine hair", b"fine; hair"))
    assert fields_of(page.get(at).text)[waive].startswith("{"), "as YAML has it"
    wrong = page.post(at, {"do": "check", waive: "torn"}).text
    assert "torn" in wrong.partition(f'id="said-{waive}"')[2].partition("</div>")[0]


def placeholders(page: str) -> dict[str, str]:
    """Return what empty fields show, by name."""
    return dict(re.findall(r'name="([^"]*)"[^>]*placeholder="([^"]*)"', page))


def test_a_piece_without_a_bleed_of_its_own_shows_that_of_its_vendor(tmp_path: Path) -> None:
    order = studio(tmp_path) / "order.yaml"
    page, field = PageHere(tmp_path), "field/pieces/tag/bleed"
    assert placeholders(page.get(f"{page.order}/pieces").text)[field] == "3.2 mm"
    with order.open("a", encoding="utf-8") as text:
        text.write("vendors.studio.bleed: 5mm\n")
    assert placeholders(page.get(f"{page.order}/pieces").text)[field] == "5 mm"


@pytest.mark.parametrize(
    ("trim", "gutter", "sheets"),
    [("100mm x 100mm", "6.4 mm", "a4, sra3"), ("4in x 4in", "0.25 in", "letter, 12x18")],
)
def test_what_an_empty_field_shows_is_in_the_units_of_the_pieces(
    tmp_path: Path, trim: str, gutter: str, sheets: str
) -> None:
    order = studio(tmp_path) / "order.yaml"
    order.write_text(order.read_text("utf-8").replace("100pt x 100pt", trim), "utf-8")
    page = PageHere(tmp_path)
    shown = placeholders(page.get(f"{page.order}/pieces").text)
    assert shown["field/vendors/studio/gutter"] == gutter
    assert shown["field/vendors/studio/devices/press/sheets"] == sheets
    metric = trim.endswith("mm")
    assert shown["new/size"] == ("a4" if metric else "letter")
    other = re.compile(r"\din\b|letter" if metric else r"\dmm|\d mm|\ba4")
    assert [it for it in shown.items() if other.search(it[1])] == []


def test_a_vendor_is_told_its_gutter_its_frame_and_whether_it_takes_marks(tmp_path: Path) -> None:
    studio(tmp_path)
    page = PageHere(tmp_path)
    at, vendor = f"{page.order}/pieces", "field/vendors/studio"
    shown = page.get(at).text
    assert placeholders(shown)[f"{vendor}/frame"] == "what whole marks need"
    marks = shown.partition(f'name="{vendor}/marks"')[2].partition("</select>")[0]
    assert re.findall(r">([^<>\n]+)</option>", marks) == ["yes (as usual)", "yes", "no"]
    wrong = page.post(at, {"do": "check", f"{vendor}/gutter": "7"}).text
    assert "has no unit" in wrong.partition(f'id="said-{vendor}/gutter"')[2].partition("</div>")[0]
    typed = {f"{vendor}/gutter": "7mm", f"{vendor}/frame": "0", f"{vendor}/marks": "false"}
    assert page.post(at, fields_of(shown) | typed | {"do": "keep"}).status == 303
    kept = load_order(tmp_path / "tags" / "order.yaml", {}).order.vendors["studio"]
    assert (kept.gutter, kept.frame, kept.marks) == (millimetres(7), 0, False)
    assert {it: fields_of(page.get(at).text)[it] for it in typed} == typed


def test_form_and_text_count_the_same_and_the_text_leads_to_the_line(tmp_path: Path) -> None:
    """Notes are no things to look at: artwork with 3 mm of bleed where 0.125in is asked has one."""
    order = studio(tmp_path)

    def cut(_: pikepdf.Pdf, page: pikepdf.Page) -> None:
        page.obj.MediaBox = page.obj.BleedBox = pikepdf.Array([-8.5, -8.5, 108.5, 108.5])
        page.obj.TrimBox = pikepdf.Array([0, 0, 100, 100])

    (order / "tag.pdf").write_bytes(document(GREEN + b"-9 -9 120 120 re f", setup=cut))
    page = PageHere(tmp_path)
    text = (order / "order.yaml").read_text("utf-8") + "vendors.studio.bleed: 0.125in\n"
    at, typed = f"{page.order}/text", {"do": "check", "text": text}
    form = {"do": "check", "field/vendors/studio/bleed": "0.125in"}
    assert "It is in order" in once_known(lambda: page.post(f"{page.order}/pieces", form))
    shown = once_known(lambda: page.post(at, typed))
    assert "It is in order" in shown
    assert 'class="note"' in shown
    wrong = page.post(at, typed | {"text": text + "suitse: 3\n"}).text
    line = re.findall(r'id="said-count".*?href="#(said-[^"]*)"', wrong)
    assert "suitse" in wrong.partition(f'id="{line[0]}"')[2].partition("</li>")[0]
