"""Where artwork letters go: into the out folder while a piece is open, or where check is told."""

import pytest

from run_kit import state


def letters(folder):
    return {path.name: path.read_bytes() for path in folder.glob("*.pdf")}


def test_a_run_writes_the_letter_of_each_piece_that_is_open_and_check_the_same(
    first_run, tmp_path, inkaccord
):
    order, _ = first_run
    made = letters(order / "out" / "artwork-letters")
    assert made.keys() == {"card.pdf", "envelope.pdf"}
    before = state(order)
    code, _, err = inkaccord("check", order, "--letters", tmp_path / "letters")
    assert code == 0, err
    assert letters(tmp_path / "letters") == made
    assert str(tmp_path / "letters" / "card.pdf") in err
    assert state(order) == before


def test_what_is_ready_has_none_any_more(run_to_its_end):
    assert not letters(run_to_its_end / "out" / "artwork-letters")


def test_check_writes_them_also_when_the_order_is_refused(
    order, tmp_path, inkaccord_json, inkaccord
):
    text = (order / "order.yaml").read_text("utf-8")
    (order / "order.yaml").write_text(text.replace("5in x 7in", "5in x 6in"), "utf-8")
    code, _, err = inkaccord("check", order, "--letters", tmp_path / "letters")
    assert code == 4
    assert "wrong-trim" not in err
    assert letters(tmp_path / "letters").keys() == {"card.pdf", "envelope.pdf"}
    (order / "order.yaml").write_text(text, "utf-8")
    code, told = inkaccord_json("check", order, "--letters", tmp_path / "letters")
    assert code == 0
    assert len(told["files"]) == 2


@pytest.mark.slow
def test_a_run_says_where_the_letters_of_what_fails_are(order, inkaccord):
    text = (order / "order.yaml").read_text("utf-8")
    (order / "order.yaml").write_text(text.replace("5in x 7in", "5in x 6in"), "utf-8")
    _, out, _ = inkaccord("run", order)
    assert f"how it was understood and what to change: {order / 'out' / 'artwork-letters'}" in out
    assert letters(order / "out" / "artwork-letters").keys() == {"card.pdf", "envelope.pdf"}
