"""An order as the page has it."""

from pathlib import Path

import pytest

from inkaccord.cli.shared import Settings
from inkaccord.errors import OrderError
from inkaccord.web.studio import OrderOnPage, Studio
from run_kit import inkaccord
from web_kit import studio


@pytest.mark.slow
def test_an_order_of_the_books_colours_is_stale_once_the_book_says_otherwise(
    tmp_path: Path,
) -> None:
    order = studio(tmp_path)
    path = order / "order.yaml"
    named = path.read_text("utf-8").replace("by_eye: a dried leaf", "from_book: Harbour green")
    path.write_text(named, "utf-8")
    assert _book(order, "lab 52 -28 22") == 0
    assert inkaccord("run", order)[0] == 3
    assert not _now(tmp_path).is_stale
    assert _book(order, "lab 50 -28 22") == 0
    assert _now(tmp_path).is_stale
    (order / "shelf.sqlite").unlink()
    assert _now(tmp_path).is_stale


def test_a_new_order_lies_beside_others_and_never_inside_one(tmp_path: Path) -> None:
    order = studio(tmp_path)
    plugins = Settings().drawing
    assert Studio(tmp_path, plugins).folder_for_another() == tmp_path
    for one in (order, order / "order.yaml"):
        with pytest.raises(OrderError, match="opened on one order"):
            Studio(one, plugins).folder_for_another()


def _book(order: Path, build: str) -> int:
    return inkaccord("book", "add", "Harbour green", build, "--order", order)[0]


def _now(folder: Path) -> OrderOnPage:
    (order,) = Studio(folder, Settings().drawing).orders()
    return order
