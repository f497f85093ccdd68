"""Which sheets a pair waits for: what the instrument can't read is nothing to wait for."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.knowledge.course import follow
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.sheets.model import Pick, Purpose
from inkaccord.sheets.settings import SheetSettings
from inkaccord.shelf.kept import KeptPick
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


def test_a_sheet_is_still_to_be_looked_at_for_the_colours_that_nobody_looked_at(known):
    swatches = tuple(
        it.model_copy(update={"for_eye": True, "colour": "slate" if at % 2 else "butter"})
        for at, it in enumerate(SMALL.swatches)
    )
    sheet = SMALL.model_copy(update={"swatches": swatches})
    look = Pick(sheet=sheet.id, colour="slate", swatch=sheet.swatches[1].id)
    pick = KeptPick(digest="", sheet=sheet, pick=look, recorded_at=datetime.now(UTC))
    known = replace(known, sheets=(sheet,), picks=(pick,))
    assert known.still_to_look_at("butter") == (sheet,)
    assert known.still_to_look_at("slate") == ()
    assert known.still_to_look_at("kelp") == ()
    assert replace(known, picks=()).still_to_look_at("butter") == ()  # that one waits
    gone = replace(known, withdrawn=frozenset({sheet.id}))
    assert gone.still_to_look_at("butter") == ()
