"""More than readings can be is refused before it takes time and memory."""

import pytest

from inkaccord.errors import OrderError
from inkaccord.sheets.reading.tables import read_tables

FORMAT = "BEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
ROW = "A1 50 0 0\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (f"NUMBER_OF_FIELDS {'9' * 5_000}\n{FORMAT}BEGIN_DATA\n{ROW}END_DATA", "needs one whole"),
        (f"{FORMAT}BEGIN_DATA\n{ROW * 900_000}END_DATA", "it has 9 MB"),
        (f"{FORMAT}BEGIN_DATA\n{ROW * 30_000}END_DATA", "it has 30,00"),
        (f"BEGIN_DATA_FORMAT\n{'X ' * 300_000}\nEND_DATA_FORMAT", "one of its lines"),
        ("BEGIN_DATA\n" + '"' * 1_000_001, "one of its lines"),
        ("SAMPLE_ID,LAB_L\n" + '"' * 1_000_001, "one of its lines"),
        ("SAMPLE_ID,LAB_L\n" + ("," * 9_999 + "\n") * 60, "some 600,00"),
        ("[" * 100_000, "too deep"),
        ('{"a":' * 100_000, "too deep"),
        ("[" + "{}," * 600_000 + "{}]", "some 600,00"),
        ("[" + ",".join(f'{{"n{at}": 1}}' for at in range(2_000)) + "]", "2,000 columns"),
    ],
    ids=[
        "count", "size", "rows", "columns", "quotes", "quotes in CSV", "cells", "brackets",
        "objects", "entries", "names",
    ],
)  # fmt: skip
def test_too_much_is_refused(text, said):
    with pytest.raises(OrderError) as caught:
        read_tables(text.encode(), file="evil.txt")
    (finding,) = caught.value.findings
    assert finding.place.file == "evil.txt"
    assert said in finding.message


def test_a_number_of_very_many_figures_is_no_traceback():
    (table,) = read_tables(f'[{{"SAMPLE_ID": 7, "LAB_L": {"9" * 5_000}}}]'.encode())
    assert [cell.text for cell in table.rows[0]] == ["7", "inf"]


def test_spectra_of_a_large_target_are_taken():
    names = " ".join(f"SPECTRAL_NM{nm}" for nm in range(380, 740, 10))
    row = "A1 " + "0.1234 " * 36 + "\n"
    text = (
        f"BEGIN_DATA_FORMAT\nSAMPLE_ID {names}\nEND_DATA_FORMAT\nBEGIN_DATA\n{row * 5_000}END_DATA"
    )
    (table,) = read_tables(text.encode())
    assert len(table.rows) == 5_000
