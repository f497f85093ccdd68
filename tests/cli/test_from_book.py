"""An order with colours of the studio's book: the same next year, whatever it says then."""

import json
import re

import numpy as np
import pytest
import yaml

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.pairs import Pair
from inkaccord.shelf.store import Shelf
from recording_kit import printed_lab, readings_of, sheet_of
from run_kit import inkaccord, run_of, state

pytestmark = pytest.mark.slow

GREEN = "Harbour green"


def book(*words, order):
    code, out, err = inkaccord("book", *words, "--order", order)
    assert code == 0, out + err
    return out


@pytest.fixture
def booked(order):
    """The small order, its one colour from the book, run once."""
    path = order / "order.yaml"
    text = path.read_text("utf-8")
    path.write_text(
        text.replace("aim: {lab: [52, -28, 22]}", f"aim: {{from_book: {GREEN}}}"), "utf-8"
    )
    book("add", GREEN, "lab 52 -28 22", "--client", "Boathouse", order=order)
    code, out, err = inkaccord("run", order)
    assert code == 3, out + err
    return order


def test_the_record_holds_what_the_book_said(booked):
    run = run_of(booked)
    (said,) = run["book"]
    assert said == {
        "colour": "leaf",
        "name": GREEN,
        "edition": 1,
        "newest": 1,
        "aim": "CIELAB 52, -28, 22 (D50, 2°)",
        "client": "Boathouse",
        "note": "",
    }
    with Shelf.open(booked / "shelf.sqlite") as shelf:
        assert shelf.book.uses("loop")["leaf"].edition == 1


def test_a_run_of_the_same_does_nothing_and_a_changed_book_changes_nothing_but_is_told(booked):
    before = state(booked / "out")
    code, _, _ = inkaccord("run", booked)
    assert code == 3
    assert state(booked / "out") == before
    samples = {name: data for name, data in before.items() if name.startswith("samples/")}
    book("add", "harbour green", "--note", "also the doors", order=booked)
    assert "the book has changed" not in inkaccord("run", booked)[1]  # it looks as it did
    book("add", "harbour green", "lab 30 10 10", order=booked)
    code, out, _ = inkaccord("run", booked)
    assert code == 3
    assert "the book has changed 'Harbour green' since this order was first run" in out
    assert "edition: 3" in out
    recorded = run_of(booked)["findings"]
    assert {it["place"]["file"] for it in recorded if it["code"] == "book-changed"} == {
        "order.yaml"
    }
    assert str(booked) not in (booked / "out" / "run.json").read_text("utf-8")
    assert str(booked) not in (booked / "out" / "report.html").read_text("utf-8")
    after = state(booked / "out")
    assert {name: after[name][1] for name in samples} == {
        name: it[1] for name, it in samples.items()
    }
    (said,) = run_of(booked)["book"]
    assert (said["edition"], said["newest"]) == (1, 3)
    assert "52, -28, 22" in said["aim"]


def test_an_edition_is_taken_where_the_order_says_which(booked):
    book("add", GREEN, "lab 30 10 10", order=booked)
    path = booked / "order.yaml"
    path.write_text(
        path.read_text("utf-8").replace(f"from_book: {GREEN}", f"from_book: {GREEN}, edition: 2"),
        "utf-8",
    )
    code, out, _ = inkaccord("run", booked)
    assert code == 3
    assert "the book has changed" not in out
    (said,) = run_of(booked)["book"]
    assert (said["edition"], said["aim"]) == (2, "CIELAB 30, 10, 10 (D50, 2°)")


def test_what_is_struck_stays_with_the_orders_that_have_it(booked):
    book("strike", GREEN, order=booked)
    code, out, _ = inkaccord("run", booked)
    assert code == 3
    assert "struck it out" in out
    assert run_of(booked)["book"][0]["edition"] == 1


def test_a_colour_that_the_book_does_not_have_is_named_with_its_line(order):
    path = order / "order.yaml"
    path.write_text(
        path.read_text("utf-8").replace("aim: {lab: [52, -28, 22]}", "aim: {from_book: Harbor}"),
        "utf-8",
    )
    book("add", GREEN, "lab 52 -28 22", order=order)
    code, _, err = inkaccord("run", order)
    assert code == 2
    assert "order.yaml:9:" in err
    assert "the book has no 'Harbor'; it has Harbour green" in err
    assert inkaccord("check", order)[::2] == (2, err)


def test_a_check_asks_the_book_and_makes_no_shelf(order):
    path = order / "order.yaml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("aim: {lab: [52, -28, 22]}", "aim: {from_book: Harbor}"), "utf-8")
    before = sorted(order.iterdir())
    code, _, err = inkaccord("check", order)
    assert code == 2
    assert "the book has no 'Harbor', it is empty" in err
    assert sorted(order.iterdir()) == before
    book("add", "Harbor", "lab 52 -28 22", order=order)
    code, out, err = inkaccord("check", order)
    assert code == 0, err
    assert "CIELAB 52, -28, 22" in out


@pytest.mark.parametrize(
    ("aim", "said"),
    [
        ("{from_book: green, lab: [1, 2, 3]}", "lab and from_book are given"),
        ("{lab: [1, 2, 3], edition: 2}", "goes with 'from_book'"),
        ("{from_book: green, edition: 0}", "edition"),
    ],
)
def test_an_aim_from_the_book_is_one_thing(order, aim, said):
    path = order / "order.yaml"
    path.write_text(
        path.read_text("utf-8").replace("aim: {lab: [52, -28, 22]}", f"aim: {aim}"), "utf-8"
    )
    code, _, err = inkaccord("check", order)
    assert code == 2
    assert said in err


def test_a_new_order_starts_from_the_book(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    here = ("--shelf", "common.sqlite")
    for name in (GREEN, "Käfer: {rot}"):
        assert inkaccord("book", "add", name, "lab 52 -28 22", *here)[0] == 0
    code, out, err = inkaccord(
        "new", "autumn", "--from-book", "harbour green", "--from-book", "käfer: {rot}", *here
    )
    assert code == 0, err
    assert "Next: inkaccord run autumn --shelf common.sqlite" in out
    written = yaml.safe_load((tmp_path / "autumn" / "order.yaml").read_text("utf-8"))
    assert "shelf" not in written
    assert written["colours"] == {
        "harbour-green": {"aim": {"from_book": GREEN}, "in_artwork": ["cmyk 75 20 80 10"]},
        "kafer-rot": {"aim": {"from_book": "Käfer: {rot}"}, "in_artwork": ["spot Käfer: {rot}"]},
    }
    code, out, err = inkaccord("run", "autumn", *here, "--json")
    assert code == 3, out + err
    assert {it["name"] for it in json.loads(out)["book"]} == {GREEN, "Käfer: {rot}"}
    code, _, err = inkaccord("new", "winter", "--from-book", "harbour gren", *here)
    assert code == 2
    assert "did you mean 'Harbour green'?" in err
    assert not (tmp_path / "winter").exists()


def test_a_print_on_a_device_that_the_order_has_not_is_taken_as_its_colour(order):
    path = order / "order.yaml"
    text = path.read_text("utf-8").replace("aim: {lab: [52, -28, 22]}", "aim: {from_book: leaf}")
    path.write_text(text, "utf-8")
    sheet = sheet_of(60, pair=Pair.parse("laser@kraft"))
    with Shelf.open(order / "shelf.sqlite") as shelf:
        shelf.add_sheet(sheet)
    book("add", "leaf", "cmyk 50 10 60 0 on laser@kraft", order=order)
    code, _, err = inkaccord("run", order)
    assert code == 2
    assert "a pair that is not read, and whose device this order does not have" in err
    with Shelf.open(order / "shelf.sqlite") as shelf:
        shelf.record_readings(readings_of(sheet))
    code, out, err = inkaccord("run", order)
    assert code == 3, out + err
    (said,) = run_of(order)["book"]
    found = re.search(r"CIELAB (\S+), (\S+), (\S+) .*±(\S+) ΔE00", said["aim"])
    *lab, bound = map(float, found.groups())
    truth = printed_lab(np.repeat([[50.0, 10.0, 60.0, 0.0]], 400, axis=0), Drive.CMYK).mean(axis=0)
    assert delta_e_2000(np.array(lab), truth) <= bound
