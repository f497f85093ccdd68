"""The readings and picks of a sheet, taken in without a command line."""

import datetime
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
import pytest

import inkaccord_readings_tables
from inkaccord.cautions import HEAT, WHITE
from inkaccord.colour.direction import Direction
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Place, note
from inkaccord.errors import FileError, OrderError
from inkaccord.recording.sheet import take_in_sheet
from inkaccord.sheets.model import Reading, SheetReadings
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.reading.formats import OfferedFormat, ReadingsTaken
from planning_kit import ORDER, order_of
from recording_kit import DATE, PAIR, lab_of, readings_of, sheet_of, write_read_csv
from scan_kit import drawn_sheet

TABLES = tuple(map(OfferedFormat, inkaccord_readings_tables.inkaccord_readings_formats()))


def take_in(shelf, sheet_id, *files, formats=TABLES, **options):
    return take_in_sheet(shelf, sheet_id, files, today=DATE, formats=formats, **options)


def refused(shelf, sheet_id, *files, **options):
    """Return the findings about what must be refused, and see that nothing of it was kept."""
    with pytest.raises(OrderError) as refusal:
        take_in(shelf, sheet_id, *files, **options)
    assert shelf.readings_of(PAIR) == ()
    assert shelf.picks_of(PAIR) == ()
    return refusal.value.findings


@dataclass
class Swatchbook:
    """A form of one file at a time, which reads whatever it is given as what was planned."""

    gives: object = None
    name: str = "swatchbook"

    def recognises(self, path, head):
        return path.suffix == ".book" and head.startswith(b"book")

    def read(self, _path, sheet, known):
        if isinstance(self.gives, Exception):
            raise self.gives
        return self.gives or ReadingsTaken(readings_of(sheet), (note("read", str(len(known))),))


def book(folder, name="one.book"):
    path = folder / name
    path.write_bytes(b"book of swatches")
    return path


def test_readings_and_picks_are_kept_at_once(shelf, asked, tmp_path):
    sheet, _ = asked
    file = write_read_csv(tmp_path / "read.csv", sheet, builds=True)
    taken = take_in(shelf, sheet.id, file, picks=["kelp=B7 darker"], by="Ida", light="window")
    assert (taken.sheet, taken.readings, taken.new_readings, taken.new_picks) == (
        sheet, 40, True, 1,
    )  # fmt: skip
    (read,), (picked,) = shelf.readings_of(PAIR), shelf.picks_of(PAIR)
    assert read.source == "read.csv"
    assert len(read.source_sha256) == 64
    assert (picked.pick.by, picked.pick.light, picked.pick.nudge, picked.pick.picked_on) == (
        "Ida", "window", Direction.DARKER, DATE,
    )  # fmt: skip
    again = take_in(shelf, sheet.id, file, picks=["kelp=B7 darker"], by="Ida", light="window")
    assert (again.readings, again.new_readings, again.new_picks) == (40, False, 0)


def test_readings_are_of_the_day_that_is_told_where_their_file_tells_none(shelf, asked, tmp_path):
    one, other = asked
    day = DATE - datetime.timedelta(days=400)
    file = write_read_csv(tmp_path / "read.csv", one, builds=True)
    assert take_in(shelf, one.id, file, read_on=day).new_readings
    (read,) = shelf.readings_of(PAIR)
    assert read.day == day, "else it passes for fresh, and is trusted"
    again = take_in(shelf, one.id, file)
    assert not again.new_readings, "on another day the same numbers are no second reading"
    told = tmp_path / "told.txt"
    told.write_text(write_cgats(other, readings_of(other, read_on=DATE)), "utf-8")
    assert take_in(shelf, other.id, told, read_on=day).new_readings
    (said,) = shelf.readings_of(other.pair)
    assert said.day == DATE


def test_what_is_known_of_a_sheet_is_told_to_the_form(shelf, asked, tmp_path):
    sheet, _ = asked
    shelf.record_readings(readings_of(sheet, read_on=DATE))
    form = OfferedFormat(Swatchbook())
    taken = take_in(shelf, sheet.id, book(tmp_path), formats=(form,))
    assert [finding.message for finding in taken.findings] == ["1"]


def test_the_controls_tell_at_once_whether_the_pair_has_drifted(shelf, asked, tmp_path):
    sheet, _ = asked
    shelf.record_readings(readings_of(sheet, read_on=DATE))
    later = sheet_of(12, name="C5C-C5C")
    shelf.add_sheet(later)
    file = tmp_path / "read.txt"
    darker = tuple(
        one.model_copy(update={"lab": (one.lab[0] - 4, *one.lab[1:])})
        for one in readings_of(later, seed=2).readings
    )
    read_on = DATE + datetime.timedelta(days=30)
    read = readings_of(later, read_on=read_on).model_copy(update={"readings": darker})
    file.write_text(write_cgats(later, read), "utf-8")
    drift = take_in(shelf, later.id, file).drift
    assert (drift.sheet, drift.since_sheet, drift.beyond) == (later.id, sheet.id, True)
    assert 2 < drift.apart.typical < 4  # 4 L* are less in ΔE00, most of all in dark colours


def test_an_unknown_form_is_refused_with_those_that_are_known(shelf, asked, tmp_path):
    file = tmp_path / "page.pdf"
    file.write_bytes(b"%PDF-1.6\n%\xe2\xe3\0")
    (finding,) = refused(shelf, asked[0].id, file)
    assert finding.code == "unknown-readings"
    assert "page.pdf is in no form that is known here (cgats, json, csv)" in finding.message
    assert "have the scanner save it as PNG or TIFF" in finding.hint
    file = tmp_path / "book.xlsx"
    file.write_bytes(b"PK\x03\x04\x14\0\6\0")
    (finding,) = refused(shelf, asked[0].id, file)
    assert "save the spreadsheet as CSV" in finding.hint


def test_an_empty_file_and_one_that_is_not_there(shelf, asked, tmp_path):
    empty = tmp_path / "empty.txt"
    empty.touch()
    full = write_read_csv(tmp_path / "read.csv", asked[0], builds=True)
    for files in ((empty,), (full, empty)):
        (finding,) = refused(shelf, asked[0].id, *files)
        assert (finding.code, finding.message) == ("no-data", f"{empty} is empty")
    with pytest.raises(FileError, match=r"cannot read .*nowhere\.csv"):
        take_in(shelf, asked[0].id, tmp_path / "nowhere.csv")


@pytest.mark.parametrize("builds", [True, False])
def test_the_file_of_another_sheet_is_told_whose_it_is(shelf, asked, tmp_path, builds):
    for own, other in (asked, reversed(asked)):
        file = write_read_csv(tmp_path / "as read.csv", other, builds=builds)
        (finding,) = refused(shelf, own.id, file, same_place=" --order here")
        assert finding.code == "wrong-sheet"
        assert f"they fit sheet {other.id} ({other.pair})" in finding.message
        assert (
            finding.hint == f"if it is that one: inkaccord record {other.id} '{file}' --order here"
        )


def two_stocks(shelf):
    """Return a sheet and its like on another stock: nothing but the id tells their files apart."""
    own, other = (
        sheet_of(40, pair=Pair.parse(f"laser@{stock}"), name=name)
        for stock, name in (("kraft", "K7Q-XM3"), ("ivory", "T34-3JY"))
    )
    for sheet in (own, other):
        shelf.add_sheet(sheet)
    return own, other


def test_a_file_that_is_called_after_another_sheet_is_not_taken_for_this_one(shelf, tmp_path):
    own, other = two_stocks(shelf)
    file = write_read_csv(tmp_path / "read t34-3jy.csv", other, builds=False)
    (finding,) = refused(shelf, own.id, file)
    assert finding.code == "wrong-sheet"
    assert f"called after sheet {other.id} ({other.pair})" in finding.message
    assert f"inkaccord record {other.id} " in finding.hint
    assert take_in(shelf, other.id, file).new_readings
    both = write_read_csv(tmp_path / "k7q-xm3 beside t34-3jy.csv", own, builds=False, seed=2)
    assert take_in(shelf, own.id, both).new_readings


def test_one_file_is_not_taken_for_two_sheets(shelf, tmp_path):
    own, other = two_stocks(shelf)
    file = write_read_csv(tmp_path / "read.csv", other, builds=False)
    assert take_in(shelf, other.id, file).new_readings
    (kept,) = shelf.readings_of(other.pair)
    (finding,) = refused(shelf, own.id, file, same_place=" --order here")
    assert f"sheet {other.id} ({other.pair}) was read from this very file" in finding.message
    undo = f"inkaccord shelf retire {other.id} --readings {kept.digest[:8]} --order here"
    assert finding.hint.endswith(undo)
    shelf.retire_readings(other.id, kept.digest)
    assert take_in(shelf, own.id, file).new_readings, "once taken back, it may be this one's"


def test_a_file_that_is_called_after_its_own_sheet_is_believed(shelf, tmp_path):
    own, other = two_stocks(shelf)
    for sheet in (other, own):
        file = write_read_csv(tmp_path / f"read-{sheet.id}.csv", sheet, builds=False)
        assert take_in(shelf, sheet.id, file).new_readings


def test_a_file_that_fits_no_sheet_is_refused_for_its_own_reasons(shelf, asked, tmp_path):
    stranger = sheet_of(24, name="S7S-S7S")
    file = write_read_csv(tmp_path / "read.csv", stranger, builds=True)
    assert {it.code for it in refused(shelf, asked[0].id, file)} == {"missing-swatches"}


@pytest.mark.parametrize("columns", ["LAB_L LAB_A LAB_B", "XYZ_X XYZ_Y XYZ_Z"])
def test_a_row_of_zeros_was_not_read(shelf, asked, tmp_path, columns):
    sheet, _ = asked
    lab = lab_of(sheet) if "LAB" in columns else np.abs(lab_of(sheet)) * 0.8
    lab[20] = 0
    rows = "\n".join(
        f"{swatch.id} {' '.join(f'{v:.2f}' for v in values)}"
        for swatch, values in zip(sheet.swatches, lab, strict=True)
    )
    file = tmp_path / "read.txt"
    file.write_text(
        f"CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID {columns}\nEND_DATA_FORMAT\n"
        f"BEGIN_DATA\n{rows}\nEND_DATA\n", "utf-8",
    )  # fmt: skip
    (finding,) = refused(shelf, sheet.id, file)
    assert (finding.place.file, finding.place.line) == (str(file), 26)
    assert "nothing was read here" in finding.message


@pytest.mark.parametrize("ids", [True, False])
def test_a_sheet_of_two_pages_is_read_from_both_or_not_at_all(shelf, tmp_path, ids):
    sheet = drawn_sheet("4.25 x 5.5 in", colours=2, each=10)
    shelf.add_sheet(sheet)
    files = []
    for page in (1, 2):
        rows = [
            ";".join([*([swatch.id] if ids else []), *(f"{value:.3f}" for value in lab)])
            for swatch, lab in zip(sheet.swatches, lab_of(sheet).tolist(), strict=True)
            if swatch.page == page
        ]
        head = "LAB_L;LAB_A;LAB_B"
        files.append(tmp_path / f"p{page}.csv")
        files[-1].write_text("\n".join([f"SAMPLE_ID;{head}" if ids else head, *rows]), "utf-8")
    found = refused(shelf, sheet.id, files[0])
    if ids:
        assert "of page 2 there is nothing" in found[0].hint
        assert f"inkaccord record {sheet.id} FILE FILE" in found[0].hint
    assert take_in(shelf, sheet.id, *files).readings == len(sheet.swatches)


def test_two_files_need_a_form_that_takes_pages(shelf, asked, tmp_path):
    files = book(tmp_path), book(tmp_path, "two.book")
    (finding,) = refused(shelf, asked[0].id, *files, formats=(OfferedFormat(Swatchbook()),))
    assert finding.code == "one-file"
    assert "'swatchbook' are taken from one file at a time" in finding.message
    assert finding.hint == "join the files into one"


def test_files_of_two_forms_are_no_reading_of_one_sheet(shelf, asked, tmp_path):
    table = write_read_csv(tmp_path / "read.csv", asked[0], builds=True)
    formats = (OfferedFormat(Swatchbook()), *TABLES)
    (finding,) = refused(shelf, asked[0].id, table, book(tmp_path), formats=formats)
    assert finding.code == "unknown-readings"
    assert "are in no form that is known here (swatchbook, cgats" in finding.message


def test_beside_needs_a_form_that_sees_two_sheets(shelf, asked, tmp_path):
    file = write_read_csv(tmp_path / "read.csv", asked[0], builds=True)
    (finding,) = refused(shelf, asked[0].id, file, beside=asked[1].id)
    assert finding.code == "no-scan"


def test_sheets_beside_each_other_are_taken_in_a_scan_at_a_time(shelf, asked, tmp_path):
    files = [write_read_csv(tmp_path / it, asked[0], builds=True) for it in ("1.csv", "2.csv")]
    (finding,) = refused(shelf, asked[0].id, *files, beside=asked[1].id)
    assert finding.code == "one-scan"
    assert "each scan by a command of its own" in finding.hint


@pytest.mark.parametrize(
    ("gives", "said"),
    [
        (ZeroDivisionError("no light"), "ZeroDivisionError: no light"),
        ("x", "gave str, not Read"),
        (ReadingsTaken(SheetReadings(sheet="B2B-B2B", readings=())), "readings of sheet B2B-B2B"),
    ],
)
def test_a_form_that_fails_is_answered_by_whoever_offers_it(shelf, asked, tmp_path, gives, said):
    told = []

    @contextmanager
    def guard():
        try:
            yield
        except Exception as problem:
            told.append(f"{type(problem).__name__}: {problem}")
            raise OrderError.of("plugin-failed", "it failed") from problem

    formats = (OfferedFormat(Swatchbook(gives), guard),)
    (finding,) = refused(shelf, asked[0].id, book(tmp_path), formats=formats)
    assert finding.code == "plugin-failed"
    assert len(told) == 1
    assert said in told[0]


def test_a_form_whose_file_names_other_swatches_is_told_with_the_file(shelf, asked, tmp_path):
    other = Reading(swatch="Z99", lab=(50.0, 0.0, 0.0))
    gives = ReadingsTaken(SheetReadings(sheet=asked[0].id, readings=(other,)))
    formats = (OfferedFormat(Swatchbook(gives)),)
    (finding,) = refused(shelf, asked[0].id, book(tmp_path), formats=formats)
    assert (finding.code, finding.place) == ("wrong-sheet", Place(file="one.book"))
    assert "Z99" in finding.message


def test_of_several_picks_one_wrong_colour_refuses_all(shelf, asked, order):
    picks = ["butter=B7", "buter=B8", "bark=B9"]
    findings = refused(shelf, asked[0].id, picks=picks, order=order)
    assert [finding.code for finding in findings] == ["unknown-colour"] * 2
    assert "no colour 'buter'" in findings[0].message
    assert "did you mean 'butter'?" in findings[0].hint


def test_without_an_order_a_colour_that_the_sheet_lacks_is_a_doubt(shelf, asked):
    taken = take_in_sheet(shelf, asked[0].id, picks=["kelpp=B7"], today=DATE)
    assert taken.new_picks == 1
    (finding,) = taken.findings
    assert "no swatches for a colour 'kelpp'" in finding.message


def test_a_wrong_pick_keeps_the_readings_out_too(shelf, asked, tmp_path):
    file = write_read_csv(tmp_path / "read.csv", asked[0], builds=True)
    (finding,) = refused(shelf, asked[0].id, file, picks=["kelp=Z99"])
    assert finding.code == "no-such-swatch"


def test_of_an_envelope_or_white_under_ink_is_said_once_what_to_mind(shelf, asked, tmp_path):
    sheet, _ = asked
    file = write_read_csv(tmp_path / "read.csv", sheet, builds=True)
    stocks = {**ORDER["stocks"], PAIR.stock: {"kind": "envelope", "size": "a7-envelope"}}
    order = order_of(stocks=stocks)
    assert cared(take_in(shelf, sheet.id, file, order=order)) == [HEAT]
    assert cared(take_in(shelf, sheet.id, file, order=order)) == [], "and not again"

    on_white = sheet.settings.model_copy(update={"white_under": "White"})
    white = sheet_of(40).model_copy(update={"id": "WWW-222", "settings": on_white})
    shelf.add_sheet(white)
    other = write_read_csv(tmp_path / "white.csv", white, builds=True, seed=1)
    assert cared(take_in(shelf, white.id, other)) == [WHITE]


def test_of_a_plain_sheet_nothing_is_said(shelf, asked, order, tmp_path):
    file = write_read_csv(tmp_path / "read.csv", asked[0], builds=True)
    assert cared(take_in(shelf, asked[0].id, file, order=order)) == []


def cared(taken):
    return [it.message for it in taken.findings if it.code == "with-care"]
