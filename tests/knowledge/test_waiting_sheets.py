"""Which sheets a pair waits for: what the instrument can't read is nothing to wait for."""

from dataclasses import replace

import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.knowledge.course import follow
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.sheets.model import Purpose
from inkaccord.sheets.settings import SheetSettings
from inkaccord.units import millimetres
from recording_kit import PAIR, sheet_of


def of_size(name, aperture_mm, purpose=Purpose.SCOUTING):
    settings = SheetSettings.suiting(millimetres(aperture_mm), 92.0)
    return sheet_of(12, name=name).model_copy(update={"settings": settings, "purpose": purpose})


SMALL, LARGE = of_size("SMA-LLL", 8), of_size("LAR-GEE", 16)
CHECK, SET = of_size("CHE-CKK", 8, Purpose.CONTROLS), of_size("SET-SSS", 8, Purpose.SWATCH_SET)


@pytest.fixture
def known():
    return PairKnowledge(
        pair=PAIR,
        drive=Drive.CMYK,
        policy=InkPolicy(),
        paper=(92.0, 0.0, 5.0),
        kept=(),
        picks=(),
        sheets=(SMALL, LARGE, CHECK, SET),
        course=follow((), 2.0),
    )


@pytest.mark.parametrize("aperture_mm", [0.0, 4.0, 8.0])
def test_a_smaller_instrument_reads_every_sheet(known, aperture_mm):
    known = replace(known, aperture_mm=aperture_mm)
    assert known.waiting() == (SMALL, LARGE)
    assert known.waiting_controls() == (CHECK,)
    assert known.too_small() == ()


def test_a_larger_one_waits_for_what_it_can_read_and_for_what_is_printed(known):
    known = replace(known, aperture_mm=16.0)
    assert known.waiting() == (LARGE,)
    assert known.waiting_controls() == ()
    assert known.too_small() == (SMALL, CHECK)
    printed = replace(known, printed=frozenset({"SMA-LLL"}))
    assert printed.waiting() == (SMALL, LARGE)
    assert printed.too_small() == (CHECK,)
