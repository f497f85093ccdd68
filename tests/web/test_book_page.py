"""The studio's book on the page: what is said there is what the command says, and is taken back."""

import io
import json
import shutil
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from artwork_kit import document
from run_kit import inkaccord
from web_kit import (
    THREE_PAIRS,
    Answer,
    OpenPage,
    PageHere,
    open_on_three_pairs,
    send_form,
    value_on,
)

pytestmark = pytest.mark.slow  # a page and commands beside it, for each

KRAFT, PLAIN, CARD = THREE_PAIRS
LEAF = b"SAMPLE_ID,LAB_L,LAB_A,LAB_B\nleaf,41,-20,8\nstem,30,-10,20\n"


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """A folder with an order whose shelf knows three pairs."""
    yield from open_on_three_pairs(tmp_path_factory.mktemp("studio"))


def say(opened: OpenPage, do: str = "add", leaf: bytes = b"", **fields: str) -> Answer:
    files = [("file", "../leaf.csv", leaf)] if leaf else []
    return send_form(opened, f"{opened.order}/book", {"do": do, **fields}, files)


def said(folder: Path) -> list[Mapping[str, object]]:
    """What the command says of the book of the order's shelf, but when."""
    code, out, err = inkaccord("book", "--order", folder / "tags", "--json")
    assert code == 0, err
    return [{k: v for k, v in it.items() if k != "since"} for it in json.loads(out)["colours"]]


def take_back(opened: OpenPage, answer: Answer) -> None:
    word = value_on(opened.get(answer.headers["location"]).text, "word")
    assert opened.post("/undo", {"word": word}).status == 303


def test_what_is_said_on_the_page_is_what_the_command_says(
    opened: OpenPage, tmp_path: Path
) -> None:
    order = tmp_path / "tags"
    shutil.copytree(opened.folder / "tags", order)
    (tmp_path / "leaf.csv").write_bytes(LEAF)
    assert say(opened, name="Harbour <green>", colour="lab 41 -20 8", client="Quay").status == 303
    assert say(opened, name="roof", by_eye="the slate roof", note="in the yard").status == 303
    assert say(opened, name="print", colour=f"cmyk 85 20 60 30 on {KRAFT}").status == 303
    assert say(opened, name="leaf", leaf=LEAF, sample="leaf").status == 303
    assert say(opened, name="HARBOUR <green>", note="new sample").status == 303
    for words in (
        ["Harbour <green>", "lab 41 -20 8", "--client", "Quay"],
        ["roof", "--by-eye", "the slate roof", "--note", "in the yard"],
        ["print", f"cmyk 85 20 60 30 on {KRAFT}"],
        ["leaf", f"{tmp_path / 'leaf.csv'}/leaf"],
        ["harbour <green>", "--note", "new sample"],
    ):
        code, _, err = inkaccord("book", "add", *words, "--order", order)
        assert code == 0, err
    assert said(opened.folder) == said(tmp_path)

    listed = opened.get(f"{opened.order}/book").text
    assert "Harbour &lt;green&gt;" in listed
    assert "to match the slate roof, judged by eye" in listed
    shown = opened.get(f"{opened.order}/book/colour?name=Harbour+%3Cgreen%3E").text
    for pair in (KRAFT, PLAIN, CARD):
        assert pair.replace("@", "<wbr>@") in shown
    assert "Not read yet" in shown  # the pair that nobody has read
    assert shown.index("Edition 2") < shown.index("Edition 1")


def test_what_is_said_and_struck_is_taken_back(opened: OpenPage) -> None:
    before = said(opened.folder)
    made = say(opened, name="Slate", colour="#2F5D50")
    assert [it["name"] for it in said(opened.folder)] != [it["name"] for it in before]
    take_back(opened, made)
    assert said(opened.folder) == before

    say(opened, name="Slate", colour="lab 45 0 0", client="Quay")
    changed = say(opened, "change", name="Slate", colour="lab 46 0 0")
    (slate,) = [it for it in said(opened.folder) if it["name"] == "Slate"]
    assert slate["client"] == ""  # it stood empty on the form
    take_back(opened, changed)
    (slate,) = [it for it in said(opened.folder) if it["name"] == "Slate"]
    assert (slate["aim"]["lab"], slate["client"]) == ([45, 0, 0], "Quay")

    struck = say(opened, "strike", name="Slate")
    assert opened.get(f"{opened.order}/book/colour?name=Slate").status == 404
    take_back(opened, struck)
    assert opened.get(f"{opened.order}/book/colour?name=Slate").status == 200
    struck = say(opened, "strike", name="Slate")
    say(opened, name="Slate", colour="lab 47 0 0")
    word = value_on(opened.get(struck.headers["location"]).text, "word")
    assert "says something else" in opened.post("/undo", {"word": word}).text


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"name": "x", "colour": "mauve"}, "mauve&#39; is no colour"),
        ({"name": "x", "colour": "order.yaml"}, "opens none by its name"),
        ({"name": "x", "colour": "lab 1 2 3", "by_eye": "a <roof>"}, "give one of them"),
        ({"name": "x"}, "nothing says what"),
        ({"name": "x", "colour": "book nowhere"}, "the book has no &#39;nowhere&#39;"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_typed_is_lost(
    opened: OpenPage, fields: dict[str, str], why: str
) -> None:
    before = said(opened.folder)
    answer = say(opened, **fields)
    assert answer.status == 409
    assert why in answer.text
    assert value_on(answer.text, "colour") == fields.get("colour", "")
    assert said(opened.folder) == before


def test_card_and_files_are_those_of_the_command(opened: OpenPage, tmp_path: Path) -> None:
    say(opened, name="Bark", colour="lab 45 12 18", client="The Boathouse")
    order = ("--order", opened.folder / "tags")
    some = ("--client", "The Boathouse", "--pair", KRAFT, "--pair", CARD)
    asked = "client=The+Boathouse&pair=laser%40kraft&pair=laser%40card"
    card = tmp_path / "card.pdf"
    assert inkaccord("book", "card", card, *some, "--size", "letter", *order)[0] == 0
    at = f"{opened.order}/book"
    assert opened.get(f"{at}/card.pdf?{asked}&size=letter").data == card.read_bytes()
    inkaccord("book", "export", tmp_path / "book", *some, "--form", "cxf", "--form", "csv", *order)
    made = opened.get(f"{at}/files.zip?{asked}&form=csv&form=cxf").data
    with zipfile.ZipFile(io.BytesIO(made)) as it:
        sent = {name: it.read(name) for name in it.namelist()}
    assert sent == {f"book/{one.name}": one.read_bytes() for one in (tmp_path / "book").iterdir()}
    assert len(sent) == 4
    small = opened.get(f"{at}/card.pdf?size=a5").text
    assert "has no room for the book" in small
    refused = opened.get(f"{at}/card.pdf?size=huge")
    assert refused.status == 404
    assert "is not a size" in refused.text
    assert "is no pair" in opened.get(f"{at}/card.pdf?pair=nowhere").text


def test_a_new_order_begins_with_colours_of_the_book(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("INKACCORD_SHELF", str(tmp_path / "common.sqlite"))
    for name in ("Bark", "Harbour green"):
        assert inkaccord("book", "add", name, "lab 41 -20 8")[0] == 0
    for place in ("page", "command"):
        (tmp_path / place).mkdir()
    here = PageHere(tmp_path / "page")
    assert value_on(here.get("/begin").text, "from_book") == "Bark"
    asked = {"name": "spring", "do": "starter", "from_book": "Harbour green"}
    assert here.post("/begin", asked).status == 303
    made = tmp_path / "command" / "spring"
    assert inkaccord("new", made, "--from-book", "harbour Green")[0] == 0
    begun = tmp_path / "page" / "spring" / "order.yaml"
    assert "from_book" in begun.read_text("utf-8")
    assert begun.read_bytes() == (made / "order.yaml").read_bytes()
    artwork = [("artwork", "tag.pdf", document(b"0.85 0.2 0.6 0.3 k 20 20 60 60 re f"))]
    refused = send_form(here, "/begin", {"name": "other", "from_book": "Bark"}, artwork)
    assert refused.status == 409
    assert "artwork brings its own colours" in refused.text
    assert 'value="Bark" checked' in refused.text
    gone = here.post("/begin", asked | {"name": "other", "from_book": "nowhere"})
    assert "the book has no &#39;nowhere&#39;" in gone.text
    assert not (tmp_path / "page" / "other").exists()
