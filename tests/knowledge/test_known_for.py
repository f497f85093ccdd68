"""What is known of a new sheet from the others of its pair."""

import numpy as np

from inkaccord.knowledge.evidence import known_for
from inkaccord.shelf.store import Shelf
from recording_kit import PAIR, readings_of, sheet_of


def test_the_controls_of_other_sheets_are_known(tmp_path: object) -> None:
    old, older = sheet_of(30, name="B2B-B2B"), sheet_of(40, name="C3C-C3C")
    new = sheet_of(60)
    with Shelf.open(f"{tmp_path}/shelf.sqlite") as shelf:
        for seed, sheet in enumerate((old, older)):
            shelf.add_sheet(sheet)
            shelf.record_readings(readings_of(sheet, seed=seed))
        shelf.add_sheet(new)
        (borrowed,) = known_for(new, shelf.readings_of(PAIR))
        build_of = {swatch.id: swatch.build for swatch in new.swatches}
        known = {s.build for s in (*old.swatches, *older.swatches)}
        assert {build_of[r.swatch] for r in borrowed.readings} == known & set(build_of.values())
        assert {f"X{number}" for number in range(1, 13)} <= {r.swatch for r in borrowed.readings}
        paper = [readings_of(old, seed=0).readings[0], readings_of(older, seed=1).readings[0]]
        assert np.allclose(borrowed.readings[0].lab, np.mean([it.lab for it in paper], axis=0))

        taken = readings_of(new, seed=5)
        shelf.record_readings(taken)
        assert known_for(new, shelf.readings_of(PAIR)) == (taken,)


def test_a_scan_teaches_no_other_reading(tmp_path: object) -> None:
    sheet = sheet_of(30)
    with Shelf.open(f"{tmp_path}/shelf.sqlite") as shelf:
        shelf.add_sheet(sheet)
        shelf.record_readings(readings_of(sheet, noise=1.4))
        assert known_for(sheet, shelf.readings_of(PAIR)) == ()


def test_nothing_is_known_of_a_new_pair() -> None:
    assert known_for(sheet_of(), ()) == ()
