"""Columns that a file calls otherwise: a person says which is which."""

import pytest

from inkaccord.colour.conditions import Conditions
from inkaccord.errors import OrderError
from inkaccord.sheets.reading.columns import parse_columns
from inkaccord.sheets.reading.measured import measure
from inkaccord.sheets.reading.tables import read_tables

LAB = {"LAB_L": "Lstar", "LAB_A": "astar", "LAB_B": "bstar"}


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("L=Lstar,a=astar,b=bstar", LAB),
        ("L=Lstar, A=astar , B=bstar", LAB),
        ("X=one,Y=two,Z=three", {"XYZ_X": "one", "XYZ_Y": "two", "XYZ_Z": "three"}),
        ("C=c1,M=m1,Y=y1,K=k1", {"CMYK_C": "c1", "CMYK_M": "m1", "CMYK_Y": "y1", "CMYK_K": "k1"}),
        ("R=r1,G=g1,B=b1", {"RGB_R": "r1", "RGB_G": "g1", "RGB_B": "b1"}),
        ("id=Field no.,XYZ_Y=lum", {"SAMPLE_ID": "Field no.", "XYZ_Y": "lum"}),
        ("380=w380", {"SPECTRAL_NM380": "w380"}),
    ],
)
def test_what_a_person_says_of_them(text: str, meant: dict[str, str]) -> None:
    assert parse_columns([text]) == meant
    assert parse_columns(text.split(",")) == meant


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Y=lum", "can mean CMYK_Y and XYZ_Y"),
        ("Lstar", "names no column"),
        ("L=", "names no column"),
        ("gloss=G60", "there is no column 'gloss' to read"),
    ],
)
def test_what_is_not_clear_is_asked_about(text: str, said: str) -> None:
    with pytest.raises(OrderError, match=said):
        parse_columns([text])


FORMS = {
    "csv": "Field no.;Lstar;astar;bstar;L\nA1;50;10;-20;9\n",
    "json": '[{"Field no.": "A1", "Lstar": 50, "astar": 10, "bstar": -20, "L": 9}]',
    "txt": 'BEGIN_DATA_FORMAT\n"Field no." Lstar astar bstar L\nEND_DATA_FORMAT\n'
    "BEGIN_DATA\nA1 50 10 -20 9\nEND_DATA\n",
}


@pytest.mark.parametrize("form", sorted(FORMS))
def test_every_form_takes_them_and_what_they_displace_counts_no_more(form: str) -> None:
    told = parse_columns(["L=Lstar,a=astar,b=bstar,id=Field no."])
    (table,) = read_tables(FORMS[form].encode(), columns=told)
    columns = table.indices(("LAB_L", "LAB_A", "LAB_B"))
    assert columns is not None
    assert table.numbers(columns).tolist() == [[50, 10, -20]]
    at = table.index("SAMPLE_ID")
    assert at is not None
    assert table.rows[0][at].text == "A1"


def test_a_column_that_the_file_lacks_is_named_with_those_that_it_has() -> None:
    with pytest.raises(OrderError, match="no column 'lightness'; it has ID and LSTAR"):
        read_tables(b"id;Lstar\nA1;50\n", columns={"LAB_L": "lightness"})


def test_unknown_columns_are_told_how_to_be_named() -> None:
    (table,) = read_tables(b"SAMPLE_ID;Lstar;astar;bstar\nA1;50;10;-20\n")
    with pytest.raises(OrderError) as caught:
        measure(table, Conditions())
    assert "--columns L=Lstar,a=astar,b=bstar" in (caught.value.findings[0].hint or "")
