"""A table of records is read as spreadsheets write it, and every mistake is told with its line."""

import pytest

from inkaccord.errors import OrderError
from inkaccord.layout.records import table as tables
from inkaccord.layout.records.model import columns_in, filled, lines_of
from inkaccord.layout.records.table import read_table


def rows(text, name="guests.csv"):
    data = text if isinstance(text, bytes) else text.encode()
    return [dict(record.cells) for record in read_table(data, name).records]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_spreadsheets_part_cells_as_they_like(separator, ending):
    lines = ["name,town", "Zoë,Kraków", "", ",", '"Ek, Ann",Ålesund']
    if separator != ",":
        lines[-1] = "Ek, Ann,Ålesund".replace(", ", "|")
        lines = [line.replace(",", separator).replace("|", ", ") for line in lines]
    found = rows("\ufeff" + ending.join(lines) + ending)
    assert found == [
        {"name": "Zoë", "town": "Kraków"}, {"name": "Ek, Ann", "town": "Ålesund"},
    ]  # fmt: skip


def test_a_letter_is_one_letter_however_it_was_typed():
    assert rows("name\nZoe\u0308\n") == [{"name": "Zo\u00eb"}]


@pytest.mark.parametrize("form", ["utf-16-le", "utf-16-be", "utf-8"])
def test_a_table_may_be_marked_as_spreadsheets_mark_it(form):
    assert rows(("\ufeffname\ttown\nZoë\tKraków\n").encode(form)) == [
        {"name": "Zoë", "town": "Kraków"}
    ]


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"PK\3\4\x14\0\xff", "a packed file, such as a spreadsheet"),
        (b"\xff\xd8\xff\xe0", "a JPEG"),
    ],
)
def test_of_what_is_no_table_it_is_said_what_it_is(data, what):
    with pytest.raises(OrderError, match=what):
        rows(data)


def test_lines_are_counted_where_a_cell_has_several():
    table = read_table(b'name\n"Ann\nEk"\nBo\n', "guests.csv")
    assert [(record.line, record.cells["name"]) for record in table.records] == [
        (2, "Ann\nEk"), (4, "Bo"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("data", "line", "said"),
    [
        ("name,town\nZoë\n".encode("latin-1"), 2, "is not in UTF-8"),
        ("name,town\nAnn,Oslo\nBo\n", 3, "has 1 cell, and the table 2 columns"),
        ("name\nEk, Ann\n", None, None),
        ("name,town\nEk, Ann,Oslo\n", 2, "has 3 cells, and the table 2 columns"),
        ("name,name\nAnn,Bo\n", 1, "'name' names more than one column"),
        ("name,,town\nAnn,,Oslo\n", 1, "has to name every column"),
        ("", 1, "has to name every column"),
        ('name\nAnn\n"Bo\nCy\n', 3, "its quotation marks don't close"),
    ],
)
def test_mistakes_are_told_with_their_line(data, line, said):
    if said is None:  # a single column holds commas
        assert rows(data) == [{"name": "Ek, Ann"}]
        return
    with pytest.raises(OrderError) as problem:
        rows(data)
    (finding,) = problem.value.findings
    assert (finding.place.file, finding.place.line) == ("guests.csv", line)
    assert said in finding.message
    assert finding.hint


def test_of_many_mistakes_some_are_told_and_the_rest_counted(monkeypatch):
    with pytest.raises(OrderError) as problem:
        rows("a,b\n" + "1\n" * 50)
    assert len(problem.value.findings) == tables.TOLD
    assert "30 more such mistakes follow" in problem.value.findings[-1].message
    monkeypatch.setattr(tables, "MOST_RECORDS", 2)
    with pytest.raises(OrderError, match="more than 2 records"):
        rows("a\n1\n2\n3\n")


def test_a_text_takes_the_cells_and_loses_empty_lines():
    template = "{name}\n{second line}\n{town} { code }"
    cells = {"name": "Zoë", "second line": "", "town": "", "code": "7"}
    assert columns_in(template) == ["name", "second line", "town", "code"]
    assert lines_of(filled(template, cells)) == ["Zoë", "7"]
