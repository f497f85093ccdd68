"""``inkaccord look``: questions beside a sheet, answered by typing or through a pipe."""

import io
import json
import os
import signal
import subprocess
import sys

import pytest

from inkaccord.shelf.store import Shelf
from recording_kit import PAIR, sheet_of

SHEET = sheet_of(40)
FOR_EYE = SHEET.model_copy(
    update={
        "swatches": tuple(
            it.model_copy(
                update={"for_eye": True, "colour": "mother's green" if at < 20 else "été"}
            )
            if it.colour
            else it
            for at, it in enumerate(SHEET.swatches)
        )
    }
)
IDA = ("--by", "Ida", "--light", "window")
GREEN = ("--colour", "mother's green")
"""Its swatches stand in one row, B3 to B10: three questions."""


@pytest.fixture
def shelf(tmp_path):
    place = tmp_path / "shelf.sqlite"
    with Shelf.open(place) as store:
        store.add_sheet(FOR_EYE)
    return place


@pytest.fixture
def look(shelf, inkaccord, monkeypatch):
    def looks(*answers, words=(*IDA, *GREEN)):
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{it}\n" for it in answers)))
        return inkaccord("look", SHEET.id, *words, "--shelf", shelf)

    return looks


def kept(shelf):
    with Shelf.open(shelf) as store:
        found = [it.pick for it in store.picks_of(PAIR)]
    return sorted((it.turn or 1, it.swatch) for it in found)


def test_every_answer_is_a_look(look, shelf):
    code, out, err = look("B7, then B8", "b7", "B7, too dark?")
    assert code == 0
    assert "Recorded 3 looks at sheet K7Q-XM3" in out
    assert "Next: run the order again." in out
    assert err.count("which is nearest") == 3
    with Shelf.open(shelf) as store:
        found = {(it.pick.turn, it.pick.then, it.pick.sure) for it in store.picks_of(PAIR)}
    assert found == {(None, "B8", 0.5), (2, None, 0.5), (3, None, 0.2)}


def test_where_nothing_was_answered_looking_comes_next_and_not_the_run(look, shelf):
    code, out, _ = look("stop")
    assert code == 0
    assert f"Next: inkaccord look {SHEET.id} --shelf {shelf}" in out
    assert "run the order again" in look("B7", "stop")[1]


def test_every_colour_is_asked_along_its_rows_and_whole(look):
    code, out, err = look(*["none"] * 8, words=(*IDA, "--json"))
    data = json.loads(out)
    assert (code, data["left"], len(data["looks"])) == (0, 0, 8)
    assert [it["colour"] for it in data["looks"]].count("été") == 5
    assert data["looks"][1]["among"] == [f"C{number}" for number in range(1, 11)]
    assert "1/8  Of all of them, B3 to B10: which is nearest?" in err
    assert "2/8  Along row C, C1 to C10: which is nearest?" in err


def test_who_stops_goes_on_later(look, shelf):
    code, out, err = look("B7", "stop", words=(*IDA, *GREEN, "--json"))
    assert json.loads(out)["left"] == 2
    code, out, err = look("B7")
    assert (code, len(kept(shelf))) == (0, 2)
    assert "Going on after 1 answer of today." in err
    assert "1/2  mother's green once more" in err
    assert err.count("Rest your eyes") == 2
    look("B7")
    assert "All is answered today for mother's green." in look("B7")[2]
    assert len(kept(shelf)) == 3


def test_who_wants_to_goes_on_the_same_day(look, shelf):
    look("B7", "B7", "B7")
    code, _, err = look("B7", "B7", "stop", words=(*IDA, *GREEN, "--again"))
    assert (code, kept(shelf)[3:]) == (0, [(4, "B7"), (5, "B7")])
    assert "1/3  mother's green once more" in err
    assert "3/3  A last look at mother's green" in err
    assert "along row" not in err.lower()
    look("B7", words=(*IDA, *GREEN, "--again"))
    assert kept(shelf)[5:] == [(6, "B7")]


def test_another_person_is_asked_anew(look, shelf):
    look("B7", "B7", "B7")
    _, out, _ = look("B7", words=("--by", "Ole", "--light", "window", *GREEN))
    assert "Recorded 1 look" in out
    assert kept(shelf) == [(1, "B7"), (1, "B7"), (2, "B7"), (3, "B7")]


@pytest.mark.parametrize(
    ("answer", "said"),
    [
        ("purple", "has no swatch purple"),
        ("Z9", "has no swatch Z9"),
        ("B7 warmer", "'warmer' may be yellower or redder"),
        ("darker", "names no swatch"),
    ],
)
def test_an_answer_that_is_not_understood_is_asked_again(look, shelf, answer, said):
    code, _, err = look(answer, "B7")
    assert code == 0
    assert said in err
    assert err.count("1/3  ") == 2
    assert kept(shelf) == [(1, "B7")]


def test_a_swatch_of_another_colour_is_taken_as_the_nearest_of_the_whole_sheet(look, shelf):
    _, out, err = look("C4", "stop")
    assert "C4 is not one of mother's green's own" in err
    assert "Recorded 1 look " in out
    assert kept(shelf) == [(1, "C4")]


def test_an_empty_line_and_skip_leave_a_question_out(look, shelf):
    look("", "skip", "none of them")
    assert kept(shelf) == [(3, None)]


def test_back_asks_the_last_question_again_and_the_new_answer_takes_the_place_of_the_old(
    look, shelf
):
    _, out, err = look("back", "B7", "back", "B8", "B8")
    assert "This is the first question." in err
    assert "Recorded 2 looks" in out
    assert kept(shelf) == [(1, "B8"), (2, "B8")]


def test_what_was_answered_stays_while_nothing_takes_its_place(look, shelf):
    look("B7", "back", "stop")
    assert kept(shelf) == [(1, "B7")]


def test_two_looks_far_apart_are_asked_about_at_once(look, shelf):
    far = ("B4", "B9")  # 20 ΔE00 apart or more, whatever prints them
    _, out, err = look(*far, "B9", "stop")
    assert "you chose B4 and B9, about" in err
    assert "Look at B4 and B9 alone: which is nearer to what mother's green is to match?" in err
    assert "Recorded 3 looks" in out
    assert kept(shelf) == [(1, "B4"), (1, "B9"), (2, "B9")]
    # Taken back, there is nothing to ask.
    _, _, err = look("B4", "B9", "back", "B4", words=("--by", "Ole", "--light", "", *GREEN))
    assert err.count("Look at B4 and B9 alone") == 1
    assert err.rstrip().endswith("A last look at mother's green, B3 to B10: which is nearest?")


def test_who_looks_and_under_which_light_is_asked_once_a_day(look, shelf):
    look("Åse", "daylight", "B7", words=GREEN)
    _, _, err = look("", "", "B8", words=GREEN)
    assert "Who looks (a name, or nothing)? [Åse]" in err
    assert "[daylight]" in err
    assert "Going on after 1 answer of today." in err
    with Shelf.open(shelf) as store:
        assert {(it.pick.by, it.pick.light) for it in store.picks_of(PAIR)} == {("Åse", "daylight")}


def test_a_killed_command_has_kept_what_was_answered(shelf):
    words = ["look", SHEET.id, *IDA, *GREEN, "--shelf", str(shelf)]
    run = subprocess.Popen(
        [sys.executable, "-m", "inkaccord.cli.main", *words],
        stdin=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        bufsize=1,
    )
    assert run.stdin is not None
    assert run.stderr is not None
    run.stdin.write("B7\n")
    run.stdin.flush()
    heard = ""
    while "2/3" not in heard:
        read = run.stderr.read(1)
        assert read, heard
        heard += read
    os.kill(run.pid, signal.SIGKILL)
    run.communicate()
    assert kept(shelf) == [(1, "B7")]


def test_a_sheet_that_offers_nothing_to_the_eye_says_so(inkaccord, shelf):
    plain = sheet_of(40, name="PSC-DZ5")
    with Shelf.open(shelf) as store:
        store.add_sheet(plain)
    code, _, err = inkaccord("look", "PSC-DZ5", *IDA, "--shelf", shelf)
    assert code == 2
    assert "no swatches that were made for the eye" in err
    code, _, err = inkaccord("look", "PSC-DZ5", "--colour", "kelpp", *IDA, "--shelf", shelf)
    assert (code, "did you mean 'kelp'?" in err) == (2, True)
