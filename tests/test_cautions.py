"""Cautions: each defers to makers, local rules or trained hands, and stands where people act."""

import pytest

from inkaccord import cautions
from inkaccord.sheets.reading.cgats_written import write_cgats
from recording_kit import sheet_of
from run_kit import inkaccord

TEXTS = {name: value for name, value in vars(cautions).items() if name.isupper()}


@pytest.mark.parametrize("name", sorted(set(TEXTS) - {"KNIFE_IN_BRIEF"}))
def test_each_names_whom_to_ask(name: str) -> None:
    assert any(
        word in TEXTS[name].lower() for word in ("maker", "local rules", "post office", "trained")
    )


def test_who_prints_and_records_a_sheet_is_told() -> None:
    assert cautions.INKS_AND_HEAT in write_cgats(sheet_of())
    said = " ".join(inkaccord("record", "--help")[1].split())
    assert cautions.INKS_AND_HEAT in said
