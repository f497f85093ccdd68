"""The command ``record``: targets of others, who read, scans of two sheets; and ``compare``."""

import datetime
import sys
import types

import numpy as np
import pytest
from PIL import Image

from glass_kit import Laid, sheet_with_berths
from glass_kit import glass as laid_on_glass
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.pairs import Pair
from inkaccord.hooks import hookimpl
from inkaccord.knowledge.course import follow
from inkaccord.sheets.model import Purpose
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.shelf.store import Shelf
from recording_kit import (
    lab_of,
    readings_of,
    sheet_of,
    some_builds,
    write_read_csv,
    write_target,
)
from scan_kit import Scanner, drawn_sheet, scan

PAIR = Pair.parse("laser@kraft")


@pytest.fixture
def shelf(tmp_path, monkeypatch):
    path = tmp_path / "shelf.sqlite"
    monkeypatch.setenv("INKACCORD_SHELF", str(path))
    return path


def test_a_target_of_others_is_taken_for_its_pair(shelf, tmp_path, inkaccord, inkaccord_json):
    builds = some_builds()
    head = 'CREATED "2026-02-03"\nMEASUREMENT_CONDITION "M1"\n'
    file = write_target(tmp_path / "set.txt", builds, head=head)
    words = ("record", "--pair", "laser@kraft", file, "--by", "Ida", "--name", "whole range")
    code, done = inkaccord_json(*words)
    assert code == 0
    assert (done["pair"], done["readings"], done["new"]) == ("laser@kraft", len(builds), True)
    with Shelf.open(shelf) as store:
        (kept,) = store.sheets(PAIR)
        (read,) = store.readings_of(PAIR)
    assert (kept.sheet.purpose, kept.sheet.order) == (Purpose.IMPORTED, "whole range")
    assert (kept.added_by, read.recorded_by) == ("Ida", "Ida")
    assert read.readings.read_on == datetime.date(2026, 2, 3)
    assert read.readings.conditions.mode == "M1"
    assert [s.build.values for s in kept.sheet.swatches] == [tuple(b) for b in builds.tolist()]
    # The same again is no news.
    code, out, _ = inkaccord(*words)
    assert code == 0
    assert "on the shelf already" in out
    # Under other conditions it is refused, and nothing of it is kept.
    other = write_target(
        tmp_path / "m0.txt", some_builds(seed=4), head='MEASUREMENT_CONDITION "M0"\n'
    )
    code, _, err = inkaccord("record", "--pair", "laser@kraft", other)
    assert code == 2
    assert "M0" in err
    with Shelf.open(shelf) as store:
        assert len(store.sheets(PAIR)) == 1


def test_columns_that_a_file_calls_otherwise_are_named(shelf, tmp_path, inkaccord, inkaccord_json):
    file = write_target(tmp_path / "set.txt", some_builds())
    said = file.read_text("utf-8").replace("LAB_L LAB_A LAB_B", "Lstar astar bstar")
    file.write_text(said, "utf-8")
    words = ("record", "--pair", "laser@kraft", file)
    assert "--columns L=Lstar" in refusal(inkaccord, shelf, *words)
    code, done = inkaccord_json(*words, "--columns", "L=Lstar,a=astar,b=bstar")
    assert (code, done["new"]) == (0, True)
    code, _, err = inkaccord("record", "K7Q-XM3", "--columns", "L=Lstar", "--pick", "kelp=B7")
    assert code == 2
    assert "--columns is about a table" in err


def refusal(inkaccord, shelf, *words):
    """Return what is said to a command that must fail, and leave nothing on the shelf."""
    code, out, err = inkaccord(*words)
    assert code == 2, out
    with Shelf.open(shelf) as store:
        assert store.readings_of(PAIR) == ()
        assert store.sheets(PAIR) == ()
    return err


def test_our_own_table_has_a_sheet_of_its_own(shelf, tmp_path, inkaccord):
    sheet = sheet_of(40)
    file = tmp_path / "own.txt"
    file.write_text(write_cgats(sheet, readings_of(sheet)), "utf-8")
    err = refusal(inkaccord, shelf, "record", "--pair", "laser@kraft", file)
    assert "inkaccord record K7Q-XM3 FILE" in err


@pytest.mark.parametrize(
    "words",
    [
        ("--pair", "laser@kraft"),
        ("--pair", "laser@kraft", "a.txt", "--pick", "kelp=B7"),
        ("--pair", "laser", "a.txt"),
        ("K7Q-XM3", "a.txt", "--name", "x"),
        ("K7Q-XM3", "--pick", "kelp=B7", "--beside", "PSC-DZ5"),
        ("K7Q-XM3",),
        (),
    ],
)
def test_options_that_do_not_go_together(shelf, inkaccord, words):
    assert inkaccord("record", *words)[0] == 2
    assert not shelf.exists()


# --- who read -----------------------------------------------------------------------------------


def test_who_recorded_is_remembered(shelf, tmp_path, inkaccord):
    sheet = sheet_of(40)
    with Shelf.open(shelf) as store:
        store.add_sheet(sheet)
    file = tmp_path / "read.txt"
    file.write_text(write_cgats(sheet, readings_of(sheet)), "utf-8")
    assert inkaccord("record", sheet.id, file, "--by", "Ida")[0] == 0
    assert inkaccord("record", sheet.id, "--pick", "kelp=B7", "--by", "Ole")[0] == 0
    with Shelf.open(shelf) as store:
        (read,), (pick,) = store.readings_of(PAIR), store.picks_of(PAIR)
    assert (read.recorded_by, pick.recorded_by, pick.pick.by) == ("Ida", "Ole", "Ole")


@pytest.mark.parametrize(("darker", "said"), [(0.0, "is steady"), (4.0, "has drifted")])
def test_what_the_controls_tell_is_said_at_once(shelf, tmp_path, inkaccord, darker, said):
    first, later = sheet_of(40), sheet_of(12, name="C5C-C5C")
    with Shelf.open(shelf) as store:
        store.add_sheet(first)
        store.add_sheet(later)
        store.record_readings(readings_of(first, read_on=datetime.date(2026, 3, 14)))
    read = readings_of(later, seed=2)
    read = read.model_copy(
        update={
            "readings": tuple(
                one.model_copy(update={"lab": (one.lab[0] - darker, *one.lab[1:])})
                for one in read.readings
            )
        }
    )
    file = tmp_path / "read.txt"
    file.write_text(write_cgats(later, read), "utf-8")
    code, out, _ = inkaccord("record", later.id, file)
    assert code == 0
    assert f"from those of sheet {first.id}, read 2026-03-14. The pair {said}." in out


# --- two sheets in one scan ---------------------------------------------------------------------

CARD = drawn_sheet("a7-envelope", colours=1, each=5, pair="laser@smooth-ivory")
LATER = drawn_sheet("a7-envelope", colours=2, each=2, pair="laser@smooth-ivory")


@pytest.fixture(scope="module")
def glass(tmp_path_factory):
    """Two sheets of one pair, scanned together at 150 dpi."""
    how = Scanner(dpi=150, seed=3, jpeg=None, metamerism=0.3)
    one, two = (np.asarray(scan(sheet, how)) for sheet in (CARD, LATER))
    wide = max(one.shape[1], two.shape[1])
    picture = np.full((len(one) + len(two), wide, 3), 214, dtype=np.uint8)
    picture[: len(one), : one.shape[1]] = one
    picture[len(one) :, : two.shape[1]] = two
    path = tmp_path_factory.mktemp("glass") / "glass.png"
    Image.fromarray(picture).save(path, dpi=(150, 150))
    return path


@pytest.fixture
def with_both(shelf):
    with Shelf.open(shelf) as store:
        store.add_sheet(CARD)
        store.add_sheet(LATER)
        store.record_readings(readings_of(CARD, read_on=datetime.date(2026, 3, 14)))
    return shelf


def test_a_scan_beside_a_known_sheet_reads_the_controls_too(
    with_both, glass, inkaccord_json, inkaccord
):
    code, done = inkaccord_json("record", LATER.id, glass, "--beside", CARD.id)
    assert code == 0
    assert done["readings"] == len(LATER.swatches)
    assert (done["drift"]["since_sheet"], done["drift"]["swatches"]) == (CARD.id, 12)
    assert not done["drift"]["beyond"]
    with Shelf.open(with_both) as store:
        (read,) = store.readings_of_sheet(LATER.id)
        course = follow(store.readings_of(LATER.pair), 2.0)
    assert read.readings.noise >= 1.0  # a scan's own uncertainty stays
    assert "beside it" in read.readings.device
    truth = lab_of(LATER)
    apart = delta_e_2000(np.array([one.lab for one in read.readings.readings]), truth)
    assert np.sqrt(np.mean(apart**2)) < 2 * read.readings.noise
    (seen,) = course.compared
    assert not seen.beyond  # the same printer printed both
    # Without a sheet beside it, the controls are known already and no news.
    code, done = inkaccord_json("record", LATER.id, glass)
    known = {swatch.build for swatch in CARD.swatches}
    assert done["readings"] == sum(one.build not in known for one in LATER.swatches) > 0


def test_beside_needs_a_scan_and_a_read_sheet(with_both, glass, tmp_path, inkaccord):
    code, _, err = inkaccord("record", CARD.id, glass, "--beside", LATER.id)
    assert code == 2
    assert f"nothing is known of sheet {LATER.id}" in err
    file = write_target(tmp_path / "set.txt", some_builds())
    code, _, err = inkaccord("record", LATER.id, file, "--beside", CARD.id)
    assert code == 2
    assert "is no scan" in err


def test_two_scanned_sheets_are_compared_without_any_reading(
    shelf, glass, inkaccord, inkaccord_json
):
    with Shelf.open(shelf) as store:
        store.add_sheet(CARD)
        store.add_sheet(LATER)
    code, told = inkaccord_json("compare", CARD.id, LATER.id, glass)
    assert code == 0
    assert told["swatches"] == len(told["compared"]) >= 12
    assert told["controls"] < 1.5
    code, out, _ = inkaccord("compare", CARD.id, LATER.id, glass)
    assert code == 0
    assert "Nothing new is recorded" in out
    assert inkaccord("compare", CARD.id, CARD.id, glass)[0] == 2
    with Shelf.open(shelf) as store:
        assert store.readings_of(CARD.pair) == ()


@pytest.mark.slow
def test_a_thing_on_the_glass_is_told_with_three_swatches_to_look_at(
    shelf, tmp_path, inkaccord, inkaccord_json
):
    sheet = sheet_with_berths()
    with Shelf.open(shelf) as store:
        store.add_sheet(sheet)
    scan = tmp_path / "glass.png"
    Image.fromarray(laid_on_glass(sheet, {"slate": Laid((47.0, 2.0, -9.0))}).pixels).save(scan)
    code, told = inkaccord_json("record", sheet.id, scan, "--thing", "slate")
    assert code == 0
    (thing,) = told["things"]
    assert (thing["colour"], len(thing["swatches"]), told["picks"]) == ("slate", 3, 1)
    assert thing["bound"] > thing["error"]
    code, out, _ = inkaccord("record", sheet.id, scan, "--thing", "slate")
    first, second, third = thing["swatches"]
    assert f"look at {first}, {second} and {third} beside the thing" in out
    assert f"inkaccord look {sheet.id} asks which is nearest" in out
    assert "photograph both by a window" in out
    assert "on the shelf already" in out
    assert inkaccord("record", sheet.id, "--thing", "slate")[0] == 2
    assert inkaccord("record", sheet.id, scan, "--thing", "slate", "--beside", sheet.id)[0] == 2


# --- mistakes that people make ------------------------------------------------------------------


@pytest.fixture
def asked(shelf):
    """A sheet that an order asked for."""
    sheet = sheet_of(40)
    with Shelf.open(shelf) as store:
        store.add_sheet(sheet)
    return sheet


@pytest.mark.parametrize("written", ["K7Q-XM3", "k7q-xm3", "K7QXM3", "k7q xm3", " K7Q_XM3"])
def test_an_id_may_be_written_as_it_is_heard(asked, inkaccord, written):
    code, out, _ = inkaccord("record", written, "--pick", "kelp=B7")
    assert code == 0
    assert "K7Q-XM3" in out


def test_a_misheard_id_is_guessed(asked, inkaccord):
    code, _, err = inkaccord("record", "K7Q-XN3", "--pick", "kelp=B7")
    assert code == 2
    assert "did you mean K7Q-XM3?" in err


def test_a_colour_that_does_not_exist_is_pointed_out(asked, shelf, inkaccord, order):
    code, out, _ = inkaccord("record", "K7Q-XM3", "--pick", "kelpp=B7")
    assert code == 0  # without the order no one can be sure
    assert "no swatches for a colour 'kelpp'" in out
    words = ("record", "K7Q-XM3", "--order", order, "--shelf", shelf)
    code, _, err = inkaccord(*words, "--pick", "leave=B7")
    assert code == 2
    assert "did you mean 'leaf'?" in err
    assert inkaccord(*words, "--pick", "leaf=B7")[0] == 0


def test_a_file_without_its_sheet_and_one_of_no_use(asked, tmp_path, inkaccord):
    file = write_read_csv(tmp_path / "read.csv", asked, builds=True)
    code, _, err = inkaccord("record", file)
    assert code == 2
    assert "give the id of the SHEET before" in err
    page = tmp_path / "page.pdf"
    page.write_bytes(b"%PDF-1.6\n%\xe2\xe3\0")
    code, _, err = inkaccord("record", asked.id, page)
    assert code == 2
    assert "is in no form that is known here (scan, cgats, json, csv)" in err


def test_a_plugin_that_fails_to_offer_its_forms_is_named(asked, tmp_path, inkaccord, monkeypatch):
    @hookimpl
    def inkaccord_readings_formats():
        raise ZeroDivisionError("no forms")

    plugin = types.ModuleType("offers_none")
    plugin.inkaccord_readings_formats = inkaccord_readings_formats
    monkeypatch.setitem(sys.modules, "offers_none", plugin)
    file = write_read_csv(tmp_path / "read.csv", asked, builds=True)
    code, out, err = inkaccord("--plugin", "offers_none", "record", asked.id, file)
    assert code == 0
    assert "Recorded 40 readings" in out
    assert "the plugin 'offers_none' failed" in err


# --- a file a page ------------------------------------------------------------------------------

TWO_PAGES = drawn_sheet("4.25 x 5.5 in", colours=2, each=10)


def page_file(path, page):
    """Write what an instrument exports of one page."""
    rows = [
        f"{swatch.id};" + ";".join(f"{value:.3f}" for value in lab)
        for swatch, lab in zip(TWO_PAGES.swatches, lab_of(TWO_PAGES).tolist(), strict=True)
        if swatch.page == page
    ]
    rows = ["SAMPLE_ID;LAB_L;LAB_A;LAB_B", *rows]
    path.write_text("\n".join(rows), "utf-8")
    return path


def test_a_sheet_of_several_pages_may_come_as_a_file_a_page(shelf, tmp_path, inkaccord):
    assert TWO_PAGES.pages == 2
    with Shelf.open(shelf) as store:
        store.add_sheet(TWO_PAGES)
    one, two = (page_file(tmp_path / f"p{n}.csv", n) for n in (1, 2))
    code, out, err = inkaccord("record", TWO_PAGES.id, one, two)
    assert code == 0, err
    with Shelf.open(shelf) as store:
        (read,) = store.readings_of_sheet(TWO_PAGES.id)
    assert read.source == "p1.csv, p2.csv"
    apart = delta_e_2000(np.array([one.lab for one in read.readings.readings]), lab_of(TWO_PAGES))
    assert apart.max() < 0.01
    code, out, _ = inkaccord("record", TWO_PAGES.id, one, two)
    assert "on the shelf already" in out


def test_one_reading_alone_can_be_taken_out_of_use(finished, inkaccord, inkaccord_json):
    def asked(*words):
        return inkaccord_json("shelf", "--order", finished, *words)[1]

    listed = asked("list")["sheets"]
    sheet = next(line["id"] for line in listed if line["readings"])
    (kept,) = asked("show", sheet)["reading_list"]
    shown = inkaccord("shelf", "--order", finished, "show", sheet)[1]
    assert f"(digest {kept['digest'][:8]})" in shown
    taken = ("shelf", "--order", finished, "retire", sheet, "--readings", kept["digest"][:8])
    assert f"{sheet} is without its reading" in inkaccord(*taken)[1]
    assert asked("show", sheet)["reading_list"] == []
    assert "already" in inkaccord(*taken)[1]
    code, _, err = inkaccord("shelf", "--order", finished, "retire", sheet, "--readings", "ffff")
    assert code == 2
    assert kept["digest"][:8] in err
