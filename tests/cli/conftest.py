import json
import shutil

import pytest

import run_kit
from inkaccord.recall.memory import Memory
from inkaccord.shelf.register import remember_record
from inkaccord.testing import draw_artwork
from run_kit import record_all

ORDER = """
order: loop
title: A loop
date: 2026-10-05
due: 2026-11-02
suites: 20
shelf: shelf.sqlite
colours:
  leaf: {aim: {lab: [52, -28, 22]}, in_artwork: [cmyk 75 20 80 10]}
keep: [cmyk 0 0 0 100]
stocks:
  white: {size: letter}
  cream: {kind: envelope, size: a7-envelope}
vendors:
  studio:
    delivers: sheets
    devices: {press: {sheets: [letter], ink_limit: 300}}
pieces:
  card: {artwork: card.pdf, trim: 5in x 7in, device: press, stock: white}
  envelope: {artwork: envelope.pdf, trim: a7-envelope, device: press, stock: cream}
tolerances: {between_pieces: 3, to_aim: 4}
"""


@pytest.fixture(scope="session")
def write_order():
    """Write the small order, with artwork, into a folder."""

    def write(folder):
        (folder / "order.yaml").write_text(ORDER, "utf-8")
        (folder / "card.pdf").write_bytes(draw_artwork("5in x 7in"))
        (folder / "envelope.pdf").write_bytes(draw_artwork("a7-envelope", bleed_in=0))
        return folder

    return write


@pytest.fixture
def order(tmp_path, write_order):
    """A small order with artwork, in its own folder."""
    folder = tmp_path / "order"
    folder.mkdir()
    return write_order(folder)


@pytest.fixture(scope="session")
def first_run(tmp_path_factory, write_order):
    """The order after its first run, and what that printed: to look at, not to change."""
    folder = tmp_path_factory.mktemp("asked") / "order"
    folder.mkdir()
    order = write_order(folder)
    code, out, err = run_kit.inkaccord("run", order)
    assert code == 3, err
    return order, out


@pytest.fixture(scope="session")
def run_to_its_end(tmp_path_factory, first_run):
    """The order after run, record, run: to look at, not to change."""
    order = tmp_path_factory.mktemp("finished") / "order"
    shutil.copytree(first_run[0], order)
    record_all(order)
    code, out, err = run_kit.inkaccord("run", order)
    assert code == 0, out + err
    return order


def copied(order, target):
    """Copy an order to where its record counts as one that was written here."""
    shutil.copytree(order, target)
    remember_record((target / "out" / "run.json").read_bytes())
    return target


@pytest.fixture
def asked(tmp_path, first_run):
    """The order after its first run, which asks for its sheets: a copy of one such order."""
    return copied(first_run[0], tmp_path / "order")


@pytest.fixture
def finished(tmp_path, run_to_its_end):
    """The order after run, record, run: a copy of one such order."""
    return copied(run_to_its_end, tmp_path / "order")


@pytest.fixture(scope="session")
def inkaccord():
    """Run the command in this process; return its exit code and what it printed."""
    return run_kit.inkaccord


@pytest.fixture
def computed(monkeypatch):
    """Tell the names of the functions that were computed, because no earlier run had done it."""
    names = []
    knows = Memory._knows

    def told(memory, key, function):
        known = knows(memory, key, function)
        if not known:
            names.append(function.__name__)
        return known

    monkeypatch.setattr(Memory, "_knows", told)
    return names


@pytest.fixture(scope="session")
def inkaccord_json():
    """Run a command with --json; return its exit code and the data."""

    def call(*words):
        code, out, err = run_kit.inkaccord(*words, "--json")
        return code, json.loads(out or err)

    return call
