"""``inkaccord look``: questions beside a sheet, answered by typing or through a pipe."""

import io

import pytest

from inkaccord.shelf.store import Shelf
from recording_kit import PAIR, sheet_of

SHEET = sheet_of(40)
FOR_EYE = SHEET.model_copy(
    update={
        "swatches": tuple(
            it.model_copy(update={"for_eye": True, "colour": "mother's green"}) if it.colour else it
            for it in SHEET.swatches
        )
    }
)
IDA = ("--by", "Ida", "--light", "window")


@pytest.fixture
def shelf(tmp_path):
    place = tmp_path / "shelf.sqlite"
    with Shelf.open(place) as store:
        store.add_sheet(FOR_EYE)
    return place


@pytest.fixture
def look(shelf, inkaccord, monkeypatch):
    def looks(*answers, words=IDA):
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{it}\n" for it in answers)))
        return inkaccord("look", SHEET.id, *words, "--shelf", shelf)

    return looks


def kept(shelf):
    with Shelf.open(shelf) as store:
        found = [it.pick for it in store.picks_of(PAIR)]
    return sorted((it.turn or 1, it.swatch, it.then, it.by, it.light) for it in found)


def test_every_answer_is_a_look(look, shelf):
    code, out, err = look("B7, then C7", "b7", "B7, too dark")
    assert code == 0
    assert "Recorded 3 looks at sheet K7Q-XM3" in out
    assert err.count("Which is nearest") + err.count("which is nearest") == 3
    assert kept(shelf) == [(1, "B7", "C7", "Ida", "window"), (2, "B7", None, "Ida", "window"),
                           (3, "B7", None, "Ida", "window")]  # fmt: skip


def test_who_stops_goes_on_later(look, shelf):
    assert "Recorded 1 look at" in look("B7", "stop")[1]
    code, out, err = look("C7")
    assert (code, len(kept(shelf))) == (0, 2)
    assert "1 answer of today is kept; going on." in err
    assert "Recorded 1 look at" in out
    look("C7")
    assert "All is answered today" in look("C7")[2]
    assert len(kept(shelf)) == 3


def test_an_answer_that_is_not_understood_is_asked_again(look, shelf):
    code, _, err = look("purple", "Z9", "B7 warmer", "B7")
    assert code == 0
    assert "has no swatch Z9" in err
    assert "'warmer' may be yellower or redder" in err
    assert [it[1] for it in kept(shelf)] == ["B7"]


def test_an_empty_line_and_skip_leave_a_question_out(look, shelf):
    look("", "skip", "none of them")
    assert [(it[0], it[1]) for it in kept(shelf)] == [(3, None)]


def test_who_looks_and_under_which_light_is_asked(look, shelf):
    look("Åse", "daylight", "B7", words=())
    assert kept(shelf) == [(1, "B7", None, "Åse", "daylight")]


def test_a_killed_run_has_kept_what_was_answered(look, shelf, monkeypatch):
    taken = []
    record = Shelf.record_picks

    def dies(store, picks):
        if taken:
            raise KeyboardInterrupt
        taken.append(picks)
        return record(store, picks)

    monkeypatch.setattr(Shelf, "record_picks", dies)
    look("B7", "C7", "C8")
    assert [it[1] for it in kept(shelf)] == ["B7"]


def test_a_sheet_that_offers_nothing_to_the_eye_says_so(inkaccord, shelf):
    plain = sheet_of(40, name="PSC-DZ5")
    with Shelf.open(shelf) as store:
        store.add_sheet(plain)
    code, _, err = inkaccord("look", "PSC-DZ5", *IDA, "--shelf", shelf)
    assert code == 2
    assert "no swatches that were made for the eye" in err
    code, _, err = inkaccord("look", "PSC-DZ5", "--colour", "kelpp", *IDA, "--shelf", shelf)
    assert (code, "did you mean 'kelp'?" in err) == (2, True)
