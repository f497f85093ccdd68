"""Reading and writing ISO 28178 (CGATS.17) text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from examples_kit import few
from inkaccord.colour.builds import Build, Drive
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Purpose, SampleSheet, Swatch
from inkaccord.sheets.reading.cgats import parse_cgats
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.reading.imported import imported_sheet
from inkaccord.sheets.reading.sheet import match_readings
from inkaccord.sizes import Size
from recording_kit import DATE, PAIR, readings_of, sheet_of

PLAIN = """CGATS.17
ORIGINATOR "test"
WEIGHTING_FUNCTION "ILLUMINANT, D50"
WEIGHTING_FUNCTION "OBSERVER, 2 degree"
NUMBER_OF_FIELDS 4
BEGIN_DATA_FORMAT
SAMPLE_ID LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 2
BEGIN_DATA
A1 95.0 0.5 -2.0
A2 48.0 74.0 -3.0
END_DATA
"""


def cells(text: str | bytes) -> list[list[str]]:
    (table,) = parse_cgats(text, file="f.txt")
    return [[cell.text for cell in row] for row in table.rows]


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_reads_any_line_ending_and_encoding(ending: str, encoding: str) -> None:
    text = PLAIN.replace("A2", '"grün"').replace("\n", ending)
    assert cells(text.encode(encoding)) == [
        ["A1", "95.0", "0.5", "-2.0"],
        ["grün", "48.0", "74.0", "-3.0"],
    ]


def test_repeated_entries_are_kept() -> None:
    (table,) = parse_cgats(PLAIN)
    said = [entry.value for entry in table.keywords if entry.name == "WEIGHTING_FUNCTION"]
    assert said == ["ILLUMINANT, D50", "OBSERVER, 2 degree"]


def test_reads_comments_wrapped_sets_and_data_on_the_begin_line() -> None:
    body = "BEGIN_DATA A1 95.0 0.5\n-2.0 # paper\nA2 48.0\n74.0 -3.0 END_DATA\n"
    text = PLAIN.split("BEGIN_DATA\n", maxsplit=1)[0] + body
    assert cells(text) == cells(PLAIN)


def test_tabs_keep_empty_cells_and_names_with_spaces() -> None:
    text = PLAIN.replace("A1 95.0 0.5 -2.0", "bright card\t95.0\t\t-2.0")
    assert cells(text)[0] == ["bright card", "95.0", "", "-2.0"]


def test_reads_several_tables() -> None:
    tables = parse_cgats(PLAIN + PLAIN.replace("A1", "B1").replace("A2", "B2"))
    assert [[row[0].text for row in table.rows] for table in tables] == [["A1", "A2"], ["B1", "B2"]]


def test_a_number_that_is_none_is_named_with_its_place() -> None:
    (table,) = parse_cgats(PLAIN.replace("74.0", "7four"), file="f.txt")
    with pytest.raises(OrderError) as caught:
        table.numbers((1, 2, 3))
    assert [(f.code, str(f.place)) for f in caught.value.findings] == [
        ("not-a-number", "f.txt:12:9: LAB_A")
    ]


@pytest.mark.parametrize(
    ("old", "new", "code", "place"),
    [
        ("NUMBER_OF_SETS 2", "NUMBER_OF_SETS 3", "set-count", "f.txt:9:1"),
        ("NUMBER_OF_FIELDS 4", "NUMBER_OF_FIELDS 5", "field-count", "f.txt:5:1"),
        ("NUMBER_OF_SETS 2", "NUMBER_OF_SETS two", "bad-count", "f.txt:9:1"),
        ("A2 48.0 74.0", "A2 48.0", "set-length", "f.txt:12:1"),
        ("A2 48.0 74.0", "A2 48.0 1 74.0", "set-length", "f.txt:12:1"),
        ("LAB_A LAB_B", "LAB_A LAB_A", "column-twice", "f.txt:7:17"),
        ("END_DATA\n", "", "no-end", "f.txt:10:1"),
        ("END_DATA_FORMAT\n", "", "no-end", "f.txt:6:1"),
        ('ORIGINATOR "test"', 'ORIGINATOR "test', "open-quote", "f.txt:2:12"),
        ("BEGIN_DATA\n", "", "stray-end", "f.txt:12:1"),
    ],
)
def test_mistakes_are_named_with_their_place(old: str, new: str, code: str, place: str) -> None:
    # the last occurrence: END_DATA is also the beginning of END_DATA_FORMAT
    before, _, after = PLAIN.rpartition(old)
    with pytest.raises(OrderError) as caught:
        parse_cgats(before + new + after, file="f.txt")
    (finding,) = caught.value.findings
    assert (finding.code, str(finding.place)) == (code, place)


@pytest.mark.parametrize("text", ["", "hello", "\0\0", "BEGIN_DATA_FORMAT\nEND_DATA_FORMAT"])
def test_what_is_no_such_file_is_said(text: str) -> None:
    with pytest.raises(OrderError) as caught:
        parse_cgats(text)
    assert caught.value.findings[0].code == "no-data"


numbers = st.floats(0, 1, allow_nan=False)
ids = st.text("ABCDEFGHXYZ0123456789- '#", min_size=1, max_size=6).filter(
    lambda text: text.strip() == text
)


@given(
    drive=st.sampled_from(list(Drive)),
    rows=st.lists(st.tuples(ids, numbers, numbers, numbers, numbers), min_size=1, max_size=12,
                  unique_by=lambda row: row[0].upper()),
    order=st.text(max_size=20),
)  # fmt: skip
@few(20)
def test_a_written_file_gives_the_same_ids_and_builds(
    drive: Drive, rows: list[tuple[str, float, float, float, float]], order: str
) -> None:
    builds = [
        Build.cmyk(*(100 * v for v in row[1:]))
        if drive is Drive.CMYK
        else Build.rgb(*(255 * v for v in row[1:4]))
        for row in rows
    ]
    sheet = SampleSheet(
        id="K7Q-XM3",
        pair=PAIR,
        drive=drive,
        purpose=Purpose.SCOUTING,
        swatches=tuple(
            Swatch(id=row[0], build=build) for row, build in zip(rows, builds, strict=True)
        ),
        size=Size.parse("a4"),
        order=order,
        date=DATE,
    )
    tables = parse_cgats(write_cgats(sheet).encode())
    again = imported_sheet(tables, PAIR, date=DATE).sheet
    assert [(s.id, s.build.values) for s in again.swatches] == [
        (s.id, s.build.values) for s in sheet.swatches
    ]
    assert tables[0].keyword("SHEET_ID") == sheet.id


def test_the_table_says_how_to_print_and_what_the_eye_is_for() -> None:
    swatches = tuple(
        swatch.model_copy(update={"for_eye": swatch.id in {"C1", "C2"}, "colour": "butter"})
        for swatch in sheet_of(30).swatches
    )
    text = write_cgats(sheet_of(30).model_copy(update={"swatches": swatches}))
    assert 'TO_HOLD_AGAINST_THE_THING "butter: C1 C2"' in text
    printing = next(line for line in text.splitlines() if line.startswith("PRINTING "))
    for kind in ("PDF viewer", "Layout program", "RIP", "desktop inkjet"):
        assert kind in printing
    assert "TO_HOLD" not in write_cgats(sheet_of(30))


@pytest.mark.parametrize("drive", list(Drive))
def test_written_readings_are_read_back_exactly(drive: Drive) -> None:
    sheet = sheet_of(drive=drive)
    kept = readings_of(
        sheet,
        conditions={"mode": "M1", "backing": "white"},
        device="desk spectro, serial 12",
        read_on=DATE,
    )
    matched = match_readings(sheet, parse_cgats(write_cgats(sheet, kept)))
    assert matched.readings == kept
    assert matched.findings == ()


def test_readings_of_another_sheet_are_not_written() -> None:
    sheet = sheet_of()
    other = readings_of(sheet_of(name="B2B-B2B"))
    with pytest.raises(OrderError):
        write_cgats(sheet, other)


def test_the_date_of_a_sheet_is_not_taken_for_the_day_of_reading() -> None:
    sheet = sheet_of()
    text = write_cgats(sheet, readings_of(sheet))
    assert 'CREATED "2026-03-14"' in text
    assert match_readings(sheet, parse_cgats(text)).readings.read_on is None
