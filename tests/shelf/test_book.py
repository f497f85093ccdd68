"""The studio's book on the shelf: editions, and what carries it along."""

import sqlite3

import pytest

from inkaccord.errors import FileError, OrderError
from inkaccord.order.book import BookColour
from inkaccord.order.colours import Aim
from inkaccord.shelf.kept import BookUse
from inkaccord.shelf.store import Shelf
from shelf_kit import VERSION_4, old_shelf

GREEN = BookColour(name="Harbour green", aim=Aim(lab=(41, -20, 8)), client="Boathouse Museum")
DARKER = GREEN.model_copy(update={"aim": Aim(lab=(38, -20, 8))})
LEAF = BookColour(
    name="leaf",
    aim=Aim(build="cmyk 75.5 20 80 10", on="press@card"),
    spectrum=(0.1, 0.25, 0.125),
    wavelengths_nm=(400.0, 550.0, 700.0),
)


@pytest.fixture
def shelf(tmp_path):
    with Shelf.open(tmp_path / "shelf.sqlite", by="Ida") as opened:
        yield opened


def test_what_is_said_anew_is_another_edition_and_the_first_stays(shelf):
    assert shelf.book.add(GREEN)[1]
    assert not shelf.book.add(GREEN)[1]
    kept, new = shelf.book.add(DARKER)
    assert (kept.edition, kept.added_by, new) == (2, "Ida", True)
    assert shelf.book.colour("HARBOUR  green").colour == DARKER
    assert shelf.book.colour("harbour green", 1).colour == GREEN
    shelf.book.add(GREEN)  # and back again
    assert [it.colour for it in shelf.book.editions("Harbour green")] == [GREEN, DARKER, GREEN]
    with pytest.raises(OrderError, match="no edition 7"):
        shelf.book.colour("harbour green", 7)


def test_what_is_struck_is_asked_for_no_more(shelf):
    shelf.book.add(GREEN)
    shelf.book.add(LEAF)
    shelf.book.add(GREEN.model_copy(update={"struck": True}))
    assert [it.colour for it in shelf.book.colours()] == [LEAF]
    with pytest.raises(OrderError, match="was struck"):
        shelf.book.colour("harbour green")
    assert shelf.book.colour("harbour green", 1).colour == GREEN
    with pytest.raises(OrderError, match="has no 'laef'") as refusal:
        shelf.book.colour("laef")
    assert "'leaf'" in str(refusal.value.findings[0].hint)


def test_an_export_carries_the_book_along_and_taking_it_in_twice_changes_nothing(shelf, tmp_path):
    use = BookUse(order="autumn", colour="green", key="harbour green", edition=1)
    for colour in (GREEN, DARKER, LEAF):
        shelf.book.add(colour)
    shelf.book.use([use])
    shelf.copies.export(tmp_path / "text")
    with Shelf.open(tmp_path / "other.sqlite") as other:
        assert len(other.copies.take_in(tmp_path / "text").colours) == 3
        assert len(other.copies.take_in(tmp_path / "text").colours) == 0
        assert other.book.editions("harbour green") == shelf.book.editions("harbour green")
        assert other.book.colour("leaf") == shelf.book.colour("leaf")
        assert other.book.uses("autumn") == {"green": use}
        other.copies.export(tmp_path / "again")
    for name in ("book.json", "shelf.json"):
        assert (tmp_path / "again" / name).read_bytes() == (tmp_path / "text" / name).read_bytes()


def test_two_books_that_differ_are_merged_and_lose_nothing(shelf, tmp_path):
    shelf.book.add(GREEN)
    shelf.copies.export(tmp_path / "text")
    with Shelf.open(tmp_path / "other.sqlite") as other:
        other.book.add(DARKER)
        assert len(other.copies.take_in(tmp_path / "text").colours) == 1
        assert [it.colour for it in other.book.editions("harbour green")] == [DARKER, GREEN]
        assert len(other.copies.take_in(tmp_path / "text").colours) == 0


def test_a_shelf_without_a_book_exports_none(shelf, tmp_path):
    shelf.copies.export(tmp_path / "text")
    assert not (tmp_path / "text" / "book.json").exists()


def test_a_book_that_was_edited_by_hand_is_refused(shelf, tmp_path):
    shelf.book.add(GREEN)
    shelf.copies.export(tmp_path / "text")
    book = tmp_path / "text" / "book.json"
    book.write_text(book.read_text("utf-8").replace("-20.0", '"green"'), "utf-8")
    with Shelf.open(tmp_path / "other.sqlite") as other, pytest.raises(FileError, match="lab"):
        other.copies.take_in(tmp_path / "text")


@pytest.mark.about_its_file
def test_a_backup_holds_the_book_and_a_book_alone_is_kept_when_one_is_restored(shelf, tmp_path):
    shelf.book.add(GREEN)
    shelf.copies.back_up(tmp_path / "kept")
    shelf.book.add(DARKER)
    before = shelf.copies.restore(tmp_path / "kept")
    assert shelf.book.colour("harbour green").colour == GREEN
    with Shelf.open(before) as other:
        assert other.book.colour("harbour green").colour == DARKER


@pytest.mark.about_its_file
def test_damage_to_the_book_is_found(shelf):
    shelf.book.add(GREEN)
    assert shelf.verify() == ()
    with sqlite3.connect(shelf.place) as connection:
        connection.execute("UPDATE book SET content = replace(content, '-20', '-21')")
    connection.close()
    (finding,) = shelf.verify()
    assert "harbour green, edition 1" in finding.message


@pytest.mark.about_its_file
def test_a_shelf_of_before_the_book_has_an_empty_one(tmp_path):
    path = tmp_path / "shelf.sqlite"
    old_shelf(path, 4, VERSION_4.read_text("utf-8"))
    with Shelf.open(path) as opened:
        assert opened.book.colours() == ()
        assert opened.book.add(GREEN)[1]
        assert opened.verify() == ()


def test_an_order_remembers_the_edition_that_it_was_run_with(shelf):
    use = BookUse(order="autumn", colour="green", key="harbour green", edition=1)
    shelf.book.use([use])
    shelf.book.use([use])
    later = use.model_copy(update={"edition": 2})
    shelf.book.use([later])
    assert shelf.book.uses("autumn") == {"green": later}
    assert shelf.book.uses("spring") == {}
