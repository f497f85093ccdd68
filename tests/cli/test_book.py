"""``inkaccord book``: colours by name, the card, and files that other programs read.

CxF is read back by colour-cxf, whose classes are made from the published schema of CxF3; CGATS by
the readings' own reader and by a plain one written here by the standard's grammar.
"""

import csv
import io
import json
import shlex

import numpy as np
import pypdfium2
import pytest

from inkaccord.colour.builds import Build
from inkaccord.shelf.store import Shelf
from outside import need_module
from recording_kit import keep_three_pairs, sheet_of
from run_kit import inkaccord

KRAFT, PLAIN, CARD = "laser@kraft", "jet@plain", "laser@card"
HERE = ("--shelf", "shelf.sqlite")
NM = np.arange(380, 740, 10)
FACTORS = np.round(0.05 + 0.3 * np.exp(-(((NM - 545) / 45) ** 2)), 4)


def leaf_file(path):
    columns = " ".join(f"SPECTRAL_NM{one}" for one in NM)
    row = " ".join(map(str, FACTORS))
    path.write_text(
        f"CGATS.17\nNUMBER_OF_FIELDS 37\nBEGIN_DATA_FORMAT\nSAMPLE_ID {columns}\n"
        f"END_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n1 {row}\nEND_DATA\n",
        "utf-8",
    )


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    """A shelf with two pairs that are read, one that is not, and three colours in its book."""
    folder = tmp_path_factory.mktemp("book")
    path = folder / "shelf.sqlite"
    with Shelf.open(path) as kept:
        keep_three_pairs(kept, (KRAFT, PLAIN), CARD)
    leaf_file(folder / "leaf.txt")
    for words in (
        ["Bark", "lab 45 12 18", "--client", "The Boathouse", "--note", 'called "rope" before'],
        ["leaf", str(folder / "leaf.txt")],
        ["roof", "--by-eye", "the slate roof"],
    ):
        code, _, err = inkaccord("book", "add", *words, "--shelf", path)
        assert code == 0, err
    return path


@pytest.fixture
def here(shelf, tmp_path, monkeypatch):
    (tmp_path / "shelf.sqlite").write_bytes(shelf.read_bytes())
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture(scope="module")
def exported(shelf, tmp_path_factory):
    """The folder of an exported book."""
    folder = tmp_path_factory.mktemp("exported")
    code, out, err = inkaccord("book", "export", folder, "--shelf", shelf, "--json")
    assert code == 0, err
    said = json.loads(out)
    assert len(said["files"]) == 9
    assert said["estimated"] == 2  # two colours on the pair that nobody has read
    return folder


def data(*words):
    code, out, err = inkaccord(*words, *HERE, "--json")
    assert code == 0, out + err
    return json.loads(out)


def test_the_book_lists_its_colours_and_changes_by_editions(here):
    listed = data("book")["colours"]
    assert [it["name"] for it in listed] == ["Bark", "leaf", "roof"]
    assert [it["has_spectrum"] for it in listed] == [False, True, False]
    changed = data("book", "add", "BARK", "--note", "new sample")
    assert (changed["name"], changed["edition"]) == ("Bark", 2)
    assert (changed["client"], changed["aim"]["lab"]) == ("The Boathouse", [45, 12, 18])
    assert not data("book", "add", "bark")["new"]
    assert [it["note"] for it in data("book", "show", "bark")["editions"]] == [
        'called "rope" before',
        "new sample",
    ]
    data("book", "strike", "bark")
    assert [it["name"] for it in data("book")["colours"]] == ["leaf", "roof"]


def test_a_swatch_is_kept_as_its_print_so_that_later_readings_count(here):
    aim = data("book", "add", "third", "K7Q-XM3/C4")["aim"]
    swatch = next(it for it in sheet_of(60).swatches if it.id == "C4")
    assert (aim["build"], aim["on"]) == (str(swatch.build), KRAFT)


def test_a_colour_of_the_book_is_asked_for_by_name(here):
    (asked,) = data("ask", "book bark", "--pair", KRAFT)["asked"]
    assert asked["lab"] == [45, 12, 18]
    shown = {it["pair"]: it for it in data("book", "show", "bark")["answers"]}
    assert set(shown) == {KRAFT, PLAIN, CARD}
    assert shown[CARD]["evidence"] == "estimated"


@pytest.mark.slow
@pytest.mark.parametrize("size", ["a5", "10in x 1in", "1in x 10in"])
def test_a_card_without_room_is_refused_and_not_written(here, size):
    code, _, err = inkaccord("book", "card", "wall.pdf", "--size", size, *HERE)
    assert code == 2
    assert "has no room for the book's colours" in err
    assert "such as a4" in err
    assert not (here / "wall.pdf").exists()
    assert inkaccord("book", "card", "wall.pdf", "--size", "190mm x 130mm", *HERE)[0] == 0


def test_what_the_eye_judges_has_a_build_once_it_is_picked(here):
    assert "nobody has picked it" in data("book", "show", "roof")["unknown"][KRAFT]
    code, _, err = inkaccord("record", "K7Q-XM3", "--pick", "roof=C4", *HERE)
    assert code == 0, err
    shown = {it["pair"]: it for it in data("book", "show", "roof")["answers"]}
    assert shown[KRAFT]["evidence"] == "read"
    assert shown[PLAIN]["delta_e_00"] is not None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["book", "add", "new"], "nothing says what 'new' looks like"),
        (["book", "add", "new", "cmyk 1 2 3 4"], "'cmyk 1 2 3 4 on device@stock'"),
        (["book", "add", "new", "lab 1 2 3", "--by-eye", "roof"], "give one"),
        (["book", "add", "a\x1bb", "lab 1 2 3"], "plain words on one line"),
        (["book", "show", "brak"], "did you mean 'Bark'?"),
        (["book", "card", "wall.pdf", "--client", "nobody"], "no colour of nobody"),
        (["ask", "book brak"], "did you mean 'Bark'?"),
    ],
)
def test_bad_input_is_answered_with_how_to_mend_it(here, words, said):
    code, _, err = inkaccord(*words, *HERE)
    assert code == 2
    assert said in err
    assert not (here / "wall.pdf").exists()


@pytest.mark.slow
def test_the_card_says_what_is_estimated_and_is_the_same_again(here):
    code, _, err = inkaccord("book", "card", "wall.pdf", *HERE)
    assert code == 0, err
    first = (here / "wall.pdf").read_bytes()
    inkaccord("book", "card", "again.pdf", *HERE)
    assert (here / "again.pdf").read_bytes() == first
    with pypdfium2.PdfDocument(first) as document:
        words = " ".join(page.get_textpage().get_text_bounded() for page in document)
    (bark,) = [it for it in data("book", "show", "bark")["answers"] if it["pair"] == KRAFT]
    assert bark["build"] in words
    assert words.count("estimated: not read yet") == 2
    assert "For The Boathouse" in words
    assert "none yet" in words  # the colour that nobody has picked


def builds_of(shelf, pair):
    """Return the builds of the book on a pair, by name, as 'book show' has them."""
    found = {}
    for name in ("Bark", "leaf"):
        code, out, err = inkaccord("book", "show", name, "--pair", pair, "--shelf", shelf, "--json")
        assert code == 0, err
        found[name] = json.loads(out)["answers"][0]
    return found


@pytest.mark.parametrize(("pair", "stem"), [(KRAFT, "laser-kraft"), (PLAIN, "jet-plain")])
def test_cxf_is_read_back_by_its_published_schema(shelf, exported, pair, stem):
    cxf = need_module("colour_cxf")
    read = cxf.read_cxf((exported / f"{stem}.cxf").read_bytes())  # refuses what no schema names
    objects = {it.name: it for it in read.resources.object_collection.object_value}
    specified = {it.id for it in read.resources.color_specification_collection.color_specification}
    for name, shown in builds_of(shelf, pair).items():
        (values,) = objects[name].device_color_values.choice
        parts = ("cyan", "magenta", "yellow", "black") if pair == KRAFT else ("r", "g", "b")
        assert [getattr(values, it) for it in parts] == list(Build.parse(shown["build"]).values)
        labs = [it for it in objects[name].color_values.choice if hasattr(it, "l")]
        prints = next(it for it in labs if it.name == "as it prints")
        assert [prints.l, prints.a, prints.b] == pytest.approx(shown["predicted_lab"], abs=0.006)
        every = [*objects[name].color_values.choice, values]
        assert {it.color_specification for it in every} <= specified
    (spectrum,) = [it for it in objects["leaf"].color_values.choice if hasattr(it, "start_wl")]
    assert spectrum.start_wl == 380
    assert spectrum.value == pytest.approx(FACTORS.tolist())
    tags = {it.name: it.value for it in objects["Bark"].tag_collection[0].tag}
    assert (tags["Client"], tags["Note"]) == ("The Boathouse", 'called "rope" before')
    assert tags["Known"] == "read"
    (ink,) = read.custom_resources.other_element
    assert ink.attributes["SpotInkName"] == "leaf"
    (reading,) = ink.children[0].children
    assert reading.attributes["ObjectRef"] == objects["leaf"].id
    assert reading.attributes["ReflectanceSpectrumNameRef"] == spectrum.name


def test_what_is_estimated_travels_along_in_cxf(exported):
    cxf = need_module("colour_cxf")
    read = cxf.read_cxf((exported / "laser-card.cxf").read_bytes())
    for one in read.resources.object_collection.object_value:
        assert one.comment.startswith("ESTIMATED, not for printing")
        tags = {it.name: it.value for it in one.tag_collection[0].tag}
        assert tags["Known"] == "estimated"
        assert "SureTo" not in tags


def plain_cgats(text):
    """Read CGATS text by its grammar alone: declared columns, and sets of cells."""
    lines = text.splitlines()
    columns = lines[lines.index("BEGIN_DATA_FORMAT") + 1].split()
    rows = lines[lines.index("BEGIN_DATA") + 1 : lines.index("END_DATA")]
    counted = {line.split()[0]: line.split()[1] for line in lines if line.startswith("NUMBER_OF")}
    assert counted == {"NUMBER_OF_FIELDS": str(len(columns)), "NUMBER_OF_SETS": str(len(rows))}
    standard = {"SAMPLE_ID", "SAMPLE_NAME", *(f"CMYK_{it}" for it in "CMYK")}
    declared = {line.split('"')[1] for line in lines if line.startswith("KEYWORD ")}
    assert set(columns) <= standard | declared
    return [dict(zip(columns, shlex.split(row), strict=True)) for row in rows]


def test_cgats_is_read_back_twice(shelf, exported):
    from inkaccord.sheets.reading.cgats import parse_cgats

    data = (exported / "laser-kraft.txt").read_bytes()
    (table,) = parse_cgats(data)
    ours = [[cell.text for cell in row] for row in table.rows]
    rows = plain_cgats(data.decode())
    assert ours == [list(row.values()) for row in rows]
    shown = builds_of(shelf, KRAFT)
    assert [row["SAMPLE_NAME"] for row in rows] == ["Bark", "leaf"]
    for row in rows:
        one = shown[row["SAMPLE_NAME"]]
        assert [float(row[f"CMYK_{it}"]) for it in "CMYK"] == list(Build.parse(one["build"]).values)
        assert float(row["SURE_TO"]) == pytest.approx(one["uncertainty"], abs=0.006)
    assert rows[0]["NOTE"] == "called 'rope' before"


def test_csv_is_read_back(shelf, exported):
    text = (exported / "jet-plain.csv").read_text("utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    shown = builds_of(shelf, PLAIN)
    for row in rows:
        wanted = Build.parse(shown[row["SAMPLE_NAME"]]["build"]).values
        assert tuple(float(row[f"RGB_{it}"]) for it in "RGB") == wanted
        assert row["PAIR"] == PLAIN
    assert rows[0]["NOTE"] == 'called "rope" before'


@pytest.mark.parametrize("name", ["laser-kraft.txt", "laser-kraft.csv"])
def test_aims_are_never_taken_for_readings(here, exported, name):
    code, _, err = inkaccord("record", "--pair", "other@card", exported / name, *HERE)
    assert code == 2
    assert "aims" in err or "colour" in err
