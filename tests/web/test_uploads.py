"""Dropped files under names of our own: all of a form, until discarded or too many wait."""

import io

import pytest
from starlette.datastructures import UploadFile

from inkaccord.errors import OrderError
from inkaccord.web.uploads import MOST, Uploads
from web_kit import PageHere, ended


def dropped(*names):
    return [UploadFile(io.BytesIO(name.encode()), filename=name) for name in names]


@pytest.fixture
def uploads():
    made = Uploads()
    yield made
    made.close()


def test_all_files_of_a_form_lie_together_in_their_order(uploads):
    names = [f"card-{number}.pdf" for number in range(MOST + 6)] + ["same.pdf", "same.pdf"]
    word = ended(uploads.take(dropped(*names)))
    assert [path.name for path in uploads.find(word)] == names


def test_no_name_leaves_the_folder(uploads):
    word = ended(uploads.take(dropped("../../up.txt", r"..\..\down.txt")))
    assert [path.name for path in uploads.find(word)] == ["up.txt", "down.txt"]
    assert len({path.parents[2] for path in uploads.find(word)}) == 1


def test_what_was_discarded_or_lies_too_long_is_asked_for_again(uploads):
    first = ended(uploads.take(dropped("first.txt")))
    for number in range(MOST):
        last = ended(uploads.take(dropped(f"{number}.txt")))
    uploads.discard(last)
    for gone in (first, last, "", "../x"):
        with pytest.raises(OrderError, match="not here any more"):
            uploads.find(gone)


def test_what_is_asked_for_again_and_again_stays(uploads):
    word = ended(uploads.take(dropped("card.pdf")))
    for number in range(2 * MOST):
        uploads.find(word)
        uploads.hold({"copy.pdf": f"{number}".encode()})
    assert [path.name for path in uploads.find(word)] == ["card.pdf"]


def test_a_form_without_a_file_says_so(uploads):
    with pytest.raises(OrderError, match="no file was dropped"):
        ended(uploads.take(["", *dropped("")]))


def test_a_browser_that_is_closed_while_it_sends_artwork_is_no_fault(tmp_path, caplog):
    """Nothing is kept of it, and the terminal says nothing: it showed a traceback."""
    opened = PageHere(tmp_path)
    part = b'--edge\r\nContent-Disposition: form-data; name="artwork"; filename="a.pdf"\r\n\r\n%PDF'
    kind = {"Content-Type": "multipart/form-data; boundary=edge"}
    opened.ask("POST", "/begin", part, kind, breaks_off=True)
    assert caplog.records == []
    assert list(tmp_path.iterdir()) == []
    assert opened.get("/").status == 200
