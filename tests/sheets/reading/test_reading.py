"""A file becomes the readings of a sheet, or is refused with its fault named."""

import json
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Drive
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.errors import OrderError
from inkaccord.sheets.model import SampleSheet, SheetReadings
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.reading.columns import column_names
from inkaccord.sheets.reading.sheet import Matched, match_readings
from inkaccord.sheets.reading.tables import read_tables
from recording_kit import DATE, as_csv, as_json, lab_of, readings_of, sheet_of

SHEET = sheet_of()
LAB = lab_of(SHEET)
NM = range(380, 740, 10)


def text_of(
    columns: Sequence[str],
    rows: Sequence[Sequence[object]],
    *header: str,
    separator: str = " ",
) -> bytes:
    """Return a CGATS file as some instrument might write it."""
    body = "\n".join(separator.join(map(str, row)) for row in rows)
    head = "\n".join(header)
    return (
        f"CGATS.17\n{head}\nBEGIN_DATA_FORMAT\n{separator.join(columns)}\nEND_DATA_FORMAT\n"
        f"NUMBER_OF_SETS {len(rows)}\nBEGIN_DATA\n{body}\nEND_DATA\n"
    ).encode()


def lab_rows(sheet: SampleSheet = SHEET, lab: np.ndarray = LAB) -> list[list[object]]:
    return [[s.id, *map(float, row)] for s, row in zip(sheet.swatches, lab, strict=True)]


def record(data: bytes, sheet: SampleSheet = SHEET, known: Sequence[SheetReadings] = ()) -> Matched:
    return match_readings(sheet, read_tables(data, file="f"), known=known)


def refused(data: bytes, sheet: SampleSheet = SHEET) -> dict[str, str]:
    """Return code → message of what the file was refused for."""
    with pytest.raises(OrderError) as caught:
        record(data, sheet)
    assert all(finding.place.file == "f" for finding in caught.value.findings)
    return {finding.code: finding.message for finding in caught.value.findings}


def read_lab(matched: Matched) -> np.ndarray:
    return np.array([reading.lab for reading in matched.readings.readings])


LAB_FIELDS = ("SAMPLE_ID", "LAB_L", "LAB_A", "LAB_B")
XYZ_FIELDS = ("SAMPLE_ID", "XYZ_X", "XYZ_Y", "XYZ_Z")


# What is taken


def test_rows_in_any_order_are_matched_by_id() -> None:
    rows = lab_rows()
    np.random.default_rng(1).shuffle(rows)
    matched = record(text_of(LAB_FIELDS, rows))
    assert [reading.swatch for reading in matched.readings.readings] == [
        swatch.id for swatch in SHEET.swatches
    ]
    assert np.array_equal(read_lab(matched), LAB)
    assert matched.findings == ()


def test_extra_columns_decimal_commas_and_numbered_rows() -> None:
    rows = [
        [at + 1, s.id, "x y", *(f"{v:.4f}".replace(".", ",") for v in row), "0,31"]
        for at, (s, row) in enumerate(zip(SHEET.swatches, LAB, strict=True))
    ]
    fields = ("SAMPLE_ID", "SAMPLE_NAME", "NOTE", "LAB_L", "LAB_A", "LAB_B", "D_VIS")
    matched = record(text_of(fields, rows, separator="\t"))
    assert np.allclose(read_lab(matched), LAB, atol=1e-4)


def test_rows_without_ids_are_taken_in_order_and_that_is_said() -> None:
    matched = record(text_of(LAB_FIELDS[1:], [row[1:] for row in lab_rows()]))
    assert np.array_equal(read_lab(matched), LAB)
    assert [finding.code for finding in matched.findings] == ["matched-by-order"]


@pytest.mark.parametrize("drive", list(Drive))
@pytest.mark.parametrize("scale", [1.0, "unit"])
def test_rows_without_ids_are_matched_by_their_builds(drive: Drive, scale: float | str) -> None:
    sheet = sheet_of(drive=drive)
    lab = lab_of(sheet)
    full = 100 if drive is Drive.CMYK else 255
    factor = 1 / full if scale == "unit" else 1
    rows = [
        [*(value * factor for value in s.build.values), *map(float, row)]
        for s, row in zip(sheet.swatches, lab, strict=True)
    ]
    rows.reverse()
    names = [f"{drive.upper()}_{c}" for c in ("CMYK" if drive is Drive.CMYK else "RGB")]
    matched = record(text_of([*names, *LAB_FIELDS[1:]], rows), sheet)
    assert np.array_equal(read_lab(matched), lab)
    assert [finding.code for finding in matched.findings] == ["matched-by-build"]


@pytest.mark.parametrize(("factor", "codes"), [(1.0, []), (0.01, ["unit-scaled"])])
def test_xyz_is_taken_on_either_scale(factor: float, codes: list[str]) -> None:
    rows = [[s.id, *row] for s, row in zip(SHEET.swatches, lab_to_xyz(LAB) * factor, strict=True)]
    matched = record(text_of(XYZ_FIELDS, rows))
    assert np.allclose(read_lab(matched), LAB, atol=1e-9)
    assert [finding.code for finding in matched.findings] == codes


def spectra() -> np.ndarray:
    """Return a smooth spectrum for every swatch, roughly of its colour."""
    xyz = lab_to_xyz(LAB) / 100
    centres = np.array([600.0, 540.0, 450.0])
    shapes = np.exp(-(((np.array(NM)[:, None] - centres) / 60) ** 2))
    return np.clip(xyz @ shapes.T * 0.6 + 0.02, 0, 1)


SPECTRAL_NAMES: dict[str, Callable[[int], str]] = {
    "spectral_nm380": lambda nm: f"SPECTRAL_NM{nm}",
    "spec_380": lambda nm: f"SPEC_{nm}",
    "nm_380": lambda nm: f"nm_{nm}",
    "380nm": lambda nm: f"{nm}nm",
    "pct": lambda nm: f"SPECTRAL_PCT_{nm}",
}


@pytest.mark.parametrize("percent", [False, True])
@pytest.mark.parametrize("name", list(SPECTRAL_NAMES))
def test_spectra_become_lab_and_are_kept(name: str, percent: bool) -> None:
    factors = spectra()
    fields = ["SAMPLE_ID", *map(SPECTRAL_NAMES[name], NM)]
    given_values = factors * (100 if percent else 1)
    rows = [[s.id, *row] for s, row in zip(SHEET.swatches, given_values.tolist(), strict=True)]
    matched = record(text_of(fields, rows))
    kept = np.array([reading.spectrum for reading in matched.readings.readings])
    assert np.allclose(kept, factors, atol=1e-12)
    assert matched.readings.wavelengths_nm == tuple(map(float, NM))
    promised = name == "pct" and not percent
    said = [finding.code for finding in matched.findings]
    # Spectra as broad as these are no single ink's, and that is said as well.
    assert [code for code in said if code != "converted"] == ["wrong-unit"] * promised
    assert read_lab(matched) == pytest.approx(spectra_to_lab(factors, NM), abs=1e-9)


def test_spectra_as_pairs_of_wavelength_and_value() -> None:
    factors = spectra()
    fields = ["SAMPLE_ID", *(f for _ in NM for f in ("SPECTRAL_NM", "SPECTRAL_DEC"))]
    rows = [
        [s.id, *(v for nm, value in zip(NM, row, strict=True) for v in (nm, value))]
        for s, row in zip(SHEET.swatches, factors.tolist(), strict=True)
    ]
    matched = record(text_of(fields, rows))
    assert matched.readings.readings[7].spectrum == tuple(factors[7])


def test_a_swatch_read_twice_counts_with_its_mean() -> None:
    again = [["X1", *(LAB[0] + [0.4, 0, 0])]]
    matched = record(text_of(LAB_FIELDS, lab_rows() + again))
    assert read_lab(matched)[0] == pytest.approx(LAB[0] + [0.2, 0, 0])


@pytest.mark.parametrize("write", [write_cgats, as_csv, as_json])
@pytest.mark.parametrize("drive", list(Drive))
def test_every_form_gives_back_what_was_written(
    write: Callable[[SampleSheet, SheetReadings], str], drive: Drive
) -> None:
    sheet = sheet_of(drive=drive)
    kept = readings_of(sheet)
    matched = record(write(sheet, kept).encode(), sheet)
    assert matched.readings.readings == kept.readings
    assert matched.findings == ()


@pytest.mark.parametrize(
    "text",
    [
        "{id};L*;a*;b*",
        "{id},Lab_L,Lab_A,Lab_B",
        "{id}\tL\tA\tB",
        "{id} L a b",
        "# SHEET_ID: K7Q-XM3\n{id};L;a;b",
    ],
)
def test_csv_of_a_spreadsheet(text: str) -> None:
    head = text.format(id="Swatch")
    mark = head.replace("# SHEET_ID: K7Q-XM3\n", "").removeprefix("Swatch")[0]
    comma = mark != ","
    lines = [
        mark.join(
            [
                row[0] if mark == " " else f'"{row[0]}"',
                *(f"{v:.3f}".replace(".", "," if comma else ".") for v in row[1:]),
            ]
        )
        for row in lab_rows()
    ]
    matched = record("\r\n".join([head, *lines, mark * 3, ""]).encode("utf-8-sig"))
    assert np.allclose(read_lab(matched), LAB, atol=1e-3)


# Conditions


@pytest.mark.parametrize(
    ("header", "mode", "backing"),
    [
        (['MEASUREMENT_SOURCE "MEASUREMENT_CONDITION=M1"'], "M1", None),
        (['MEASUREMENT_SOURCE "M2"', 'SAMPLE_BACKING "black"'], "M2", "black"),
        (['FILTER "UVcut"'], "M2", None),
        (
            [
                'INSTRUMENTATION "D50, 2 degree, geometry 45/0, no polarisation filter, '
                'white backing, according to ISO 13655"'
            ],
            None,
            "white",
        ),
        ([], None, None),
    ],
)
def test_conditions_are_read_where_stated(
    header: list[str], mode: str | None, backing: str | None
) -> None:
    matched = record(text_of(LAB_FIELDS, lab_rows(), *header, 'CREATED "2026-03-14"'))
    conditions = matched.readings.conditions
    assert (conditions.mode, conditions.backing) == (mode, backing)
    assert (conditions.illuminant, conditions.observer) == ("D50", "2")
    assert matched.readings.read_on == DATE


def test_a_day_that_is_still_to_come_is_told_and_not_believed() -> None:
    matched = record(text_of(LAB_FIELDS, lab_rows(), 'CREATED "2062-03-14"'))
    assert matched.readings.read_on is None
    assert [it.code for it in matched.findings] == ["day-to-come"]


@pytest.mark.parametrize(
    ("header", "code"),
    [
        (['MEASUREMENT_SOURCE "M0"', 'MEASUREMENT_CONDITION "M1"'], "mixed-conditions"),
        (['WEIGHTING_FUNCTION "ILLUMINANT, D65"'], "not-d50"),
        (['WEIGHTING_FUNCTION "OBSERVER, 10 degree"'], "not-d50"),
    ],
)
def test_other_conditions_are_refused(header: list[str], code: str) -> None:
    assert code in refused(text_of(LAB_FIELDS, lab_rows(), *header))


def test_two_tables_under_two_conditions_are_refused() -> None:
    one = text_of(LAB_FIELDS, lab_rows(), 'MEASUREMENT_SOURCE "M0"')
    two = text_of(LAB_FIELDS, lab_rows(), 'MEASUREMENT_SOURCE "M1"')
    assert "M0 and M1" in refused(one + two)["mixed-conditions"]


def test_a_table_a_page_is_taken_as_one_sheet() -> None:
    data = text_of(LAB_FIELDS, lab_rows()[:30]) + text_of(LAB_FIELDS, lab_rows()[30:])
    assert np.array_equal(read_lab(record(data)), LAB)


# Faults


def test_another_sheet_by_its_id() -> None:
    data = text_of(LAB_FIELDS, lab_rows(), 'SHEET_ID "B2B-B2B"')
    assert "B2B-B2B" in refused(data)["wrong-sheet"]


def test_another_sheet_by_its_builds() -> None:
    rows = [
        [s.id, 7, 8, 9, 10, *row[1:]] for s, row in zip(SHEET.swatches, lab_rows(), strict=True)
    ]
    fields = ("SAMPLE_ID", "CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K", *LAB_FIELDS[1:])
    assert "wrong-sheet" in refused(text_of(fields, rows))


@given(seed=st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_another_sheet_by_its_colours(seed: int) -> None:
    shuffled = np.random.default_rng(seed).permutation(LAB)
    codes = refused(text_of(LAB_FIELDS, lab_rows(lab=shuffled)))
    assert codes.keys() & {"wrong-sheet", "controls-disagree", "swapped-rows"}


def test_missing_swatches_are_named() -> None:
    message = refused(text_of(LAB_FIELDS, lab_rows()[:-2]))["missing-swatches"]
    assert "lacks 2" in message
    assert SHEET.swatches[-1].id in message


def test_missing_rows_without_ids() -> None:
    rows = [row[1:] for row in lab_rows()[:-1]]
    assert "59 rows" in refused(text_of(LAB_FIELDS[1:], rows))["missing-swatches"]


def test_rows_that_are_not_on_the_sheet_are_left_out_with_a_warning() -> None:
    matched = record(text_of(LAB_FIELDS, [*lab_rows(), ["WHITE", 95, 0, 0]]))
    assert [finding.code for finding in matched.findings] == ["extra-rows"]


def test_exchanged_rows_by_their_builds() -> None:
    builds = [list(swatch.build.values) for swatch in SHEET.swatches]
    builds[20], builds[33] = builds[33], builds[20]
    rows = [[row[0], *build, *row[1:]] for row, build in zip(lab_rows(), builds, strict=True)]
    fields = ("SAMPLE_ID", "CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K", *LAB_FIELDS[1:])
    message = refused(text_of(fields, rows))["swapped-rows"]
    assert SHEET.swatches[20].id in message
    assert SHEET.swatches[33].id in message


def far_apart() -> tuple[int, int]:
    """Return two swatches whose colours lie far apart."""
    apart = np.linalg.norm(LAB[12:, None] - LAB[None, 12:], axis=2)
    one, two = np.unravel_index(int(apart.argmax()), apart.shape)
    return int(one) + 12, int(two) + 12


def test_exchanged_readings_by_their_colours() -> None:
    one, two = far_apart()
    lab = LAB.copy()
    lab[[one, two]] = lab[[two, one]]
    message = refused(text_of(LAB_FIELDS, lab_rows(lab=lab)))["swapped-rows"]
    assert SHEET.swatches[one].id in message
    assert SHEET.swatches[two].id in message


def test_a_sheet_read_upside_down() -> None:
    message = refused(text_of(LAB_FIELDS, lab_rows(lab=LAB[::-1])))["other-order"]
    assert "upside down" in message


def test_a_sheet_read_column_by_column() -> None:
    by_column = LAB.reshape(6, 10, 3).transpose(1, 0, 2).reshape(60, 3)
    message = refused(text_of(LAB_FIELDS, lab_rows(lab=by_column)))["other-order"]
    assert "column by column" in message


@pytest.mark.parametrize("factor", [0.01, 2.55])
def test_lab_in_the_wrong_unit(factor: float) -> None:
    assert "wrong-unit" in refused(text_of(LAB_FIELDS, lab_rows(lab=LAB * factor)))


def test_xyz_in_the_wrong_unit() -> None:
    rows = [[s.id, *row] for s, row in zip(SHEET.swatches, lab_to_xyz(LAB) * 255, strict=True)]
    assert "wrong-unit" in refused(text_of(XYZ_FIELDS, rows))


@pytest.mark.parametrize(
    "value", [(-8.0, 0.0, 0.0), (50.0, 190.0, 0.0), (110.0, 0.0, 0.0)], ids=str
)
def test_colours_that_no_print_gives(value: tuple[float, float, float]) -> None:
    lab = LAB.copy()
    lab[17] = value
    with pytest.raises(OrderError) as caught:
        record(text_of(LAB_FIELDS, lab_rows(lab=lab)))
    (finding,) = caught.value.findings
    assert (finding.code, finding.place.line) == ("impossible-value", 8 + 17)


def test_an_instrument_that_stood_still() -> None:
    lab = LAB.copy()
    lab[12:40] = lab[12]
    assert "stuck-reading" in refused(text_of(LAB_FIELDS, lab_rows(lab=lab)))


def test_repeats_that_differ() -> None:
    again = [["X1", 60.0, 20.0, 0.0]]
    assert "X1" in refused(text_of(LAB_FIELDS, lab_rows() + again))["repeat-differs"]


def test_a_single_odd_reading_is_pointed_out() -> None:
    lab = LAB.copy()
    lab[0] = (20.0, 0.0, 5.0)
    codes = refused(text_of(LAB_FIELDS, lab_rows(lab=lab)))
    assert "X1" in codes["odd-reading"]


def test_a_sheet_that_reads_otherwise_than_before() -> None:
    known = [readings_of(SHEET)]
    same = record(text_of(LAB_FIELDS, lab_rows()), known=known)
    faded = record(text_of(LAB_FIELDS, lab_rows(lab=LAB + np.array([8.0, 0, 0]))), known=known)
    assert same.findings == ()
    assert [finding.code for finding in faded.findings] == ["not-as-before"]


def test_a_file_without_colours_says_what_it_has() -> None:
    data = text_of(("SAMPLE_ID", "D_RED"), [[s.id, 0.3] for s in SHEET.swatches])
    assert "D_RED" in refused(data)["no-colour"]


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "no-data"),
        (b"hello\nworld\n", "no-header"),
        (b"SAMPLE_ID,LAB_L,LAB_A,LAB_B\nX1,95,0\n", "set-length"),
        (b'{"readings": 3}', "no-data"),
        (b'{"readings": [', "bad-json"),
        (json.dumps([{"SAMPLE_ID": "X1", "LAB_L": None}]).encode(), "missing-swatches"),
    ],
)
def test_files_that_are_no_readings(data: bytes, code: str) -> None:
    assert code in refused(data)


@given(data=st.binary(max_size=300))
@settings(max_examples=60, deadline=None)
def test_any_bytes_are_taken_or_refused_with_a_finding(data: bytes) -> None:
    with pytest.raises(OrderError):
        record(data)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("count", [16, 40, 60])
def test_good_readings_pass_without_a_finding(count: int, seed: int) -> None:
    sheet = sheet_of(count)
    matched = record(text_of(LAB_FIELDS, lab_rows(sheet, lab_of(sheet, seed=seed))), sheet)
    assert matched.findings == ()


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("Patch;C;M;Y;K;L*;a*;b*", "PATCH CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B"),
        ("Cyan;Magenta;Yellow;Black;L;a;b", "CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B"),
        ("C %;M %;Y %;K %;X;Y;Z", "CMYK_C CMYK_M CMYK_Y CMYK_K XYZ_X XYZ_Y XYZ_Z"),
        ("X;C;Y;M;Z;K", "XYZ_X C XYZ_Y M XYZ_Z K"),
        ("R;G;B;L;a;b", "RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B"),
        ("Red(%);Green(%);Blue(%);L;A;B", "RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B"),
        ("R;G;B;X;Y;Z", "RGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z"),
        ("R;G;B;L;A;B", "RGB_R RGB_G RGB_B LAB_L LAB_A LAB_B"),
        ("R;G;B;A;L;B", "RGB_R RGB_G RGB_B A L B"),  # no one can tell what these are
    ],
)
def test_columns_are_known_by_what_people_call_them(written: str, meant: str) -> None:
    assert column_names(tuple(written.split(";"))) == tuple(meant.split())
