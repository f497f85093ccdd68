"""More than an order can hold is refused while it is read, with its place."""

import os

import pytest

from inkaccord.errors import FileError, OrderError
from inkaccord.files import read_bytes
from inkaccord.order.source import MAX_BYTES, MAX_DEPTH, MAX_NODES, read_source
from inkaccord.pdf.opening import open_artwork
from inkaccord.sheets.scan.picture import load_pictures
from inkaccord.shelf.store import Shelf
from inkaccord.sizes import Size
from inkaccord.units import parse_length
from inkaccord.written import number, numbers, whole


@pytest.mark.parametrize(
    ("text", "said", "line", "column"),
    [
        ("trim: 5" + " " * 30_000 + "in x 7in", "at most 10,000 characters", 1, 7),
        ("trim: 5" + " " * 300 + "in x 7in", "at most 200 blanks", 1, 7),
        ("a: 1\nb: " + "x" * 20_000, "at most 10,000 characters", 2, 4),
        ("a: " + "[" * 1_000 + "]" * 1_000, f"at most {MAX_DEPTH} deep", 1, 4 + MAX_DEPTH - 1),
        ("a: " + "[" * 100_000, f"at most {MAX_DEPTH} deep", 1, 4 + MAX_DEPTH - 1),
        (
            "".join(f"{' ' * depth}a:\n" for depth in range(1_000)),
            f"at most {MAX_DEPTH} deep",
            MAX_DEPTH,
            MAX_DEPTH,
        ),
        pytest.param(
            *("[" + "a," * MAX_NODES + "]", f"at most {MAX_NODES:,} values", 1, 2 * MAX_NODES),
            marks=pytest.mark.slow,
        ),
        ('title: "a\\0b"', "a character that no text has", 1, 8),
    ],
    ids=["blanks", "fewer blanks", "letters", "brackets", "unclosed", "indents", "values", "nul"],
)
def test_too_much_is_refused_where_it_stands(tmp_path, text, said, line, column):
    path = tmp_path / "order.yaml"
    path.write_text(text, "utf-8")
    with pytest.raises(OrderError) as caught:
        read_source(path)
    (finding,) = caught.value.findings
    assert said in finding.message
    assert (finding.place.line, finding.place.column) == (line, column)


def test_a_large_file_is_refused_unread(tmp_path):
    path = tmp_path / "order.yaml"
    with path.open("wb") as file:
        file.truncate(MAX_BYTES + 1)  # a hole: no disk holds it
    with pytest.raises(FileError) as caught:
        read_source(path)
    assert caught.value.findings[0].code == "file-too-large"


@pytest.mark.parametrize(
    "opens",
    [
        read_bytes,
        lambda path: open_artwork(path).__enter__(),
        load_pictures,
        Shelf.open,
    ],
    ids=["any", "artwork", "scan", "shelf"],
)
def test_a_pipe_is_never_waited_for(tmp_path, opens):
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(FileError) as caught:
        opens(tmp_path / "pipe")
    assert caught.value.findings[0].code == "no-file"


@pytest.mark.parametrize("reads", [whole, number, lambda text: numbers(text, 1), parse_length])
@pytest.mark.parametrize("text", ["9" * 400, "9" * 5_000, "-" + "9" * 12])
def test_no_number_is_beyond_all_measure(reads, text):
    with pytest.raises(ValueError, match=r"more than anything|no unit"):
        reads(text)


@pytest.mark.parametrize("text", ["1000000mm x 1000000mm", "11m x 1m", "5in x 0.0001in"])
def test_no_paper_is_a_mile_or_a_hair_wide(text):
    with pytest.raises(ValueError, match=r"longer than anything|1 mm at least|not a length"):
        Size.parse(text)


@pytest.mark.parametrize(
    "text", ["9" * 400 + "/7 in", "9" * 400 + " mm", "1 " + "9" * 400 + "/8in"]
)
def test_no_length_is_beyond_all_measure(text):
    with pytest.raises(ValueError, match=r"longer than anything|more than anything|not a length"):
        parse_length(text)
