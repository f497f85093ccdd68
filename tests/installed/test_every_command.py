"""Every command, as it is installed: ``.ci/installed`` runs this against the wheel alone."""

import json
import re
import shutil
from pathlib import Path
from urllib.request import HTTPCookieProcessor, build_opener

import pypdfium2
import pytest
from PIL import Image

from installed.person import EXAMPLES, PRINT_AND_READ, WAITING, Person

STARTER = ("laser", {"cotton-card": "smooth-ivory", "grey-envelope": "grey-felt"})
"""What stands for the starter order's printer and stocks."""

pytestmark = pytest.mark.slow


@pytest.fixture
def person(tmp_path):
    """Someone in an empty folder, whose user folder is empty too."""
    for name in ("home", "here"):
        (tmp_path / name).mkdir()
    return Person(tmp_path / "home", tmp_path / "here", STARTER)


@pytest.fixture
def first_run(person):
    """The starter order, run once."""
    person.types("new", "my-order")
    person.types("run", "my-order", code=WAITING)
    return person


def sheets_of(person):
    return sorted((person.here / "my-order" / "out" / "samples").glob("*.txt"))


def ends(person, said, order):
    """Follow the screen to its end; return the record of the last run."""
    last = person.follows(said)
    assert last.code == 0, last.out
    assert "Nothing more is asked" in last.out
    out = person.here / order / "out"
    run = json.loads((out / "run.json").read_text("utf-8"))
    assert {piece["status"] for piece in run["pieces"]} == {"ready"}
    for vendor in {piece["vendor"] for piece in run["pieces"]}:
        assert list((out / vendor).glob("*.zip"))
        assert str(Path(order, "out", vendor)) in last.out
        assert f"{vendor}.zip" in person.types("message", order, vendor).out
    return run


def test_the_starter_order_ends_by_following_the_screen(person):
    run = ends(person, person.types("new", "my-order"), "my-order")
    assert len(run["pieces"]) == 2


@pytest.mark.parametrize("name", ["first_order", "members_evening"])
def test_an_example_order_ends_by_following_the_screen(person, name):
    for part in ("artwork", name):
        shutil.copytree(
            EXAMPLES / part,
            person.here / part,
            ignore=shutil.ignore_patterns("out", "*.sqlite*"),
        )
    person.printed_on = None  # the orders name the example's own printers
    ends(person, person.tries("run", name), name)


def test_every_command_does_its_work(first_run, tmp_path):
    person, order = first_run, ("--order", "my-order")
    assert "is in order" in person.types("check", "my-order").out
    assert "add 'prices:' to one" in person.types("cost", "my-order").err
    before_anything_is_read(person)
    one, two = sheets_of(person)
    person.types("record", one.stem, person.prints_and_reads(one), *order)
    person.types("record", two.stem, "--pick", "leaf=A1", *order)
    ida = ("--colour", "leaf", "--by", "Ida", "--light", "window")
    looked = person.types("look", two.stem, *ida, *order, answers="A1, then A2\nnone of them\n")
    assert "Recorded 2 looks" in looked.out

    listed = json.loads(person.types("shelf", "list", "--json", *order).out)
    assert {(it["id"], bool(it["readings"]), it["picks"]) for it in listed["sheets"]} == {
        (one.stem, True, 0),
        (two.stem, False, 3),
    }
    assert "leaf: picked A1" in person.types("shelf", "show", two.stem, *order).out
    assert "marked" in person.types("shelf", "printed", two.stem, *order).out
    says_where_it_lies(person, two.stem, order)
    person.types("shelf", "back-up", "kept.sqlite", *order)
    person.types("shelf", "export", "as-text", *order)
    assert "retired" in person.types("shelf", "retire", two.stem, *order).out
    assert "in use" in person.types("shelf", "use-again", two.stem, *order).out
    assert "Restored" in person.types("shelf", "restore", "kept.sqlite", *order).out
    assert "New: 2 sheets" in person.types("shelf", "import", "as-text", "--shelf", "b").out
    assert "sound" in person.types("shelf", "verify", *order).out

    pair = listed["sheets"][0]["pair"]
    for words in (("swatches", pair, "--count", "100"), ("controls", pair)):
        named = re.findall(r"^ +(\S*sheets/\S+)$", person.types(*words, *order).out, re.MULTILINE)
        assert {Path(name).suffix for name in named} == {".pdf", ".txt"}
        assert all((person.here / name).is_file() for name in named)
    asks_and_keeps_a_book(person, f"{one.stem}/A1", order)
    masked = person.types("mask", two.stem, *order)
    assert "away from yourself" in masked.out
    assert (person.here / "sheets" / f"mask-{two.stem}.pdf").is_file()
    drawn = [one.parent / "studio" / f"my-order-{path.stem}.pdf" for path in (one, two)]
    beside_each_other(drawn, tmp_path / "scan.png")
    compared = person.types("compare", one.stem, two.stem, tmp_path / "scan.png", *order)
    assert "swatches of the same build" in compared.out

    artwork = person.here / "my-order" / "artwork" / "card.pdf"
    assert "cmyk 75 20 80 10" in person.types("colours", artwork).out
    person.types("recolour", artwork, "new.pdf", "--swap", "cmyk 75 20 80 10 = cmyk 70 15 75 12")
    assert "cmyk 70 15 75 12" in person.types("colours", "new.pdf").out
    swap = f"cmyk 75 20 80 10 = ask lab 52 -28 22 on {pair}"
    assert (
        "Wrote asked.pdf"
        in person.types("recolour", artwork, "asked.pdf", "--swap", swap, *order).out
    )

    for what in ("order", "run"):
        assert json.loads(person.types("schema", what).out)["$schema"]
    plugins = json.loads(person.types("plugins", "--json").out)
    assert plugins["findings"] == []
    assert "readings-tables" in {it["name"] for it in plugins["plugins"]}
    person.types("plugins", "new", "corner-shop")
    assert (person.here / "inkaccord-corner-shop" / "pyproject.toml").exists()

    opens_a_page(person)

    every = {(name,) for name in named_in(person.types("--help").out)}
    for group in ("book", "shelf", "plugins"):
        every |= {(group, name) for name in named_in(person.types(group, "--help").out)}
    assert every <= {words[:length] for words in person.done for length in (1, 2)}


def before_anything_is_read(person):
    """Ask for what is ready, what the client approved, and what was changed: nothing yet."""
    assert "sample sheets to print" in person.types("message", "my-order").out
    early = person.types("approve", "my-order", "--by", "Ada", code=2)
    assert "does not yet show" in early.out + early.err
    assert "Nothing was changed" in person.types("diff", "my-order", "my-order").out
    assert "Nothing was sent yet" in person.types("sent", "my-order").err


def says_where_it_lies(person, sheet, order):
    """Draw a sheet once more, send it to be printed, take it back, and lay it in a drawer."""
    assert f"Sheet {sheet} once more" in person.types("shelf", "draw", sheet).out
    assert (person.here / "sheets" / f"{sheet}.pdf").is_file()
    person.types("shelf", "sent", sheet, "--to", "Harbour Print", *order)
    assert "Harbour Print" in person.types("samples", "my-order").out
    person.types("shelf", "back", sheet, *order)
    person.types("shelf", "place", sheet, "drawer 2", "--copies", "2", *order)
    person.types("shelf", "lent", sheet, "Ada", *order)
    assert "lent to Ada" in person.types("shelf", "show", sheet, *order).out
    person.types("shelf", "returned", sheet, "--by", "Ada", *order)
    assert "label" in person.types("shelf", "label", sheet, *order).out
    assert "drawer 2" in person.types("shelf", "show", sheet, *order).out


def opens_a_page(person):
    """Open the folder in a browser, as far as a browser goes without a window."""
    with person.opens(".") as page:
        address = page.stdout.readline().strip()
        browser = build_opener(HTTPCookieProcessor())
        orders = browser.open(address, timeout=30).read().decode()
        looks = browser.open(address.partition("?")[0] + "static/page.css", timeout=30).status
        page.terminate()
    assert "My first order" in orders
    assert looks == 200


def asks_and_keeps_a_book(person, swatch, order):
    """Ask how far a colour and a swatch lie apart; keep a colour, look at it, hand it on."""
    colour = person.types("ask", "lab 52 -28 22", swatch, *order).out
    assert "how far apart" in colour
    green = ("Harbour green", "lab 52 -28 22")
    assert "edition 1" in person.types("book", "add", *green, "--client", "us", *order).out
    assert "Harbour green" in person.types("book", *order).out
    assert "lab" in person.types("book", "show", green[0], *order).out.lower()
    person.types("book", "card", "wall.pdf", *order)
    assert (person.here / "wall.pdf").is_file()
    person.types("book", "export", "for-programs", *order)
    made = {path.suffix for path in (person.here / "for-programs").iterdir()}
    assert made == {".cxf", ".txt", ".csv"}
    assert "struck" in person.types("book", "strike", green[0], *order).out


def named_in(help_text):
    """Return the commands that a help text lists."""
    return re.findall(r"^  ([a-z-]+)  ", help_text.partition("Commands:")[2], re.MULTILINE)


def beside_each_other(pdfs, target):
    """Lay the first pages of two sheets beside each other, as on a scanner's glass, at 150 dpi."""
    pages = []
    for path in pdfs:
        with pypdfium2.PdfDocument(path) as document:
            page = document[0].render(scale=150 / 72).to_pil().convert("RGB")
        pages.append(page.point(lambda value: round(0.92 * value)))  # no paper is as white as light
    gap, height = 40, max(page.height for page in pages) + 80
    glass = Image.new("RGB", (sum(p.width + gap for p in pages) + gap, height), (235, 235, 235))
    left = gap
    for page in pages:
        glass.paste(page, (left, gap))
        left += page.width + gap
    glass.save(target, dpi=(150, 150))


def test_the_printing_is_not_in_the_package():
    assert PRINT_AND_READ.is_file()
    assert "runner" not in PRINT_AND_READ.parts
