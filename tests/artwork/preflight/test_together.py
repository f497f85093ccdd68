"""Checks of many artworks at once find what checks of each of them alone find."""

import pytest

from check_kit import RULES, TRIM, states
from inkaccord.artwork.preflight import together
from inkaccord.artwork.preflight.run import preflight
from inkaccord.artwork.preflight.together import CheckCase, preflight_together
from inkaccord.pdf import ink_questions, ink_rendering
from outside import need_program
from page_kit import written

LIMIT = RULES.model_copy(update={"max_total_ink": 240.0})
PLATES = LIMIT.model_copy(update={"spots": "keep"})
TOLD = RULES.model_copy(update={"tell_ink": True, "max_total_ink": None})
ADDING = "1 0.5 0 0 k 50 60 40 30 re f /G gs 0 0 1 0 k 60 60 10 30 re f"


def adding(**how: object) -> bytes:
    return written(ADDING, TRIM, ExtGState=states(OP=True, op=True, OPM=1), **how)


CASES: list[CheckCase] = [
    (adding(), LIMIT, None, "adds up"),
    (written("0.6 0.4 0.4 1 k 50 60 40 30 re f", TRIM), LIMIT, None, "within"),
    (written("1 1 0.6 0 k 50 60 9 30 re f", TRIM), LIMIT, None, "too much"),
    (adding(), PLATES, None, "on plates"),
    (written("1 1 0.5 0 k 50 60 9 30 re f", TRIM), TOLD, None, "no limit"),
    (written("1 0 0 rg 50 60 9 30 re f", TRIM), TOLD, None, "estimated"),
]


@pytest.fixture
def starts(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """What Ghostscript is started for."""
    need_program("gs", "ghostscript")
    seen: list[object] = []
    once = ink_rendering.run_ghostscript
    monkeypatch.setattr(
        ink_rendering,
        "run_ghostscript",
        lambda *given, **how: (seen.append(given), once(*given, **how)),
    )
    return seen


def test_one_start_draws_for_all_and_finds_the_same(starts: list[object]) -> None:
    found = preflight_together(CASES)
    assert len(starts) == 2  # one for all, and one for the plates of the spots
    alone = [preflight(*case) for case in CASES]
    assert found == alone
    codes = [{it.code for it in one or ()} & {"total-ink", "ink-without-limit"} for one in found]
    assert codes == [
        {"total-ink"}, set(), {"total-ink"}, {"total-ink"}, {"ink-without-limit"},
        {"ink-without-limit"},
    ]  # fmt: skip


@pytest.mark.slow
def test_pages_of_other_sizes_keep_their_own_resolution(starts: list[object]) -> None:
    def huge(content: str) -> bytes:
        return written(content, {"MediaBox": [0, 0, 9000, 9000]})

    cases: list[CheckCase] = [
        CASES[0],
        (huge("1 1 0.6 0 k 50 60 4000 3000 re f"), LIMIT, None, "huge"),
    ]
    assert preflight_together(cases) == [preflight(*case) for case in cases]


def test_one_that_cannot_be_read_takes_nothing_from_the_others(starts: list[object]) -> None:
    found = preflight_together([(b"no PDF", LIMIT, None, "none"), *CASES[:3]])
    assert found == [None, *(preflight(*case) for case in CASES[:3])]


def test_a_program_beside_them_is_drawn_alone(starts: list[object]) -> None:
    """What is before the header of a file would have Ghostscript take it for a program."""
    odd = b"%!PS\n" + CASES[0][0]
    assert preflight_together([(odd, LIMIT, None, "odd"), CASES[2]])[1] == preflight(*CASES[2])


@pytest.mark.slow
def test_large_artworks_are_drawn_page_by_page_as_they_are_looked_at(
    starts: list[object], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(together, "_MOST_PIXELS", 1)
    assert preflight_together(CASES) == [preflight(*case) for case in CASES]


@pytest.mark.slow
def test_artworks_are_held_open_up_to_a_number_of_them_and_of_their_bytes(
    starts: list[object], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ink_questions, "_MOST_HELD", 2)
    assert preflight_together(CASES) == [preflight(*case) for case in CASES]
    monkeypatch.setattr(ink_questions, "_MOST_BYTES", 1)
    assert preflight_together(CASES) == [preflight(*case) for case in CASES]
