"""Checks of inks: kinds of colour, total ink, white overprint, registration."""

from collections.abc import Iterator, Sequence

import pikepdf
import pytest

from check_kit import CLEAN, RULES, TRIM, found, mm_box, registration, states
from inkaccord.artwork.preflight import (
    case,
)
from inkaccord.pdf.ink_rendering import InkRaster
from outside import need_program
from page_kit import changed, written

LIMIT = RULES.model_copy(update={"max_total_ink": 240.0})


def test_total_ink_is_measured_and_placed() -> None:
    need_program("gs", "ghostscript")
    finding = found(written("1 1 0.6 0 k 50 60 40 30 re f", TRIM), LIMIT)["total-ink"]
    assert "up to 260 %" in finding.message
    assert "measured" in finding.message
    assert finding.place.box_mm == mm_box(50, 60, 90, 90)
    # 60/40/40/100 is exactly 240 (common practice of the trade).
    assert "total-ink" not in found(written("0.6 0.4 0.4 1 k 50 60 40 30 re f", TRIM), LIMIT)


def test_total_ink_is_placed_right_on_a_turned_page() -> None:
    need_program("gs", "ghostscript")
    data = changed(
        written("1 1 1 0 k 50 60 40 30 re f", TRIM),
        lambda pdf: pdf.pages[0].rotate(90, relative=False),
    )
    assert found(data, LIMIT)["total-ink"].place.box_mm == mm_box(50, 60, 90, 90)


def test_overprints_add_up() -> None:
    need_program("gs", "ghostscript")
    content = "1 1 0 0 k 50 60 40 30 re f /G gs 0 0 1 0 k 60 60 10 30 re f"
    data = written(content, TRIM, ExtGState=states(OP=True, op=True, OPM=1))
    rules = RULES.model_copy(update={"max_total_ink": 280.0, "spots": "keep"})
    assert "up to 300 %" in found(data, rules)["total-ink"].message


def _drawn_pages(monkeypatch: pytest.MonkeyPatch, data: bytes) -> list[int]:
    """Return which pages the check of total ink has drawn."""
    drawn: list[int] = []

    def inks(self: case.OpenArtwork, pages: Sequence[int], **_: object) -> Iterator[InkRaster]:
        drawn.extend(pages)
        yield from ()

    monkeypatch.setattr(case.OpenArtwork, "inks", inks)
    found(data, LIMIT)
    return drawn


@pytest.mark.parametrize(
    "content",
    [
        "0.5 0.5 0.5 1 k 50 60 40 30 re f",
        "1 0 0 0 k 50 60 40 30 re f /G gs 0 0 1 0 k 60 60 10 30 re f",
        "1 0 0 rg 50 60 40 30 re f",
    ],
)
def test_pages_on_which_ink_may_add_up_are_drawn(
    monkeypatch: pytest.MonkeyPatch, content: str
) -> None:
    resources = {"ExtGState": states(OP=True, op=True, OPM=1)} if "/G" in content else {}
    assert _drawn_pages(monkeypatch, written(content, TRIM, **resources)) == [1]


def test_a_page_that_is_mixed_in_a_space_of_its_own_is_drawn(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def grouped(pdf: pikepdf.Pdf) -> None:
        space = pikepdf.Name.DeviceRGB
        pdf.pages[0].obj.Group = pikepdf.Dictionary(S=pikepdf.Name.Transparency, CS=space)

    page = changed(written("0.5 g 50 60 40 30 re f", TRIM), grouped)
    assert _drawn_pages(monkeypatch, page) == [1]


def test_a_page_of_plain_light_colours_is_not_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    need_program("gs", "ghostscript")
    light = "0.6 0.4 0.4 1 k 50 60 40 30 re f 0.5 g 9 9 9 9 re f"
    assert _drawn_pages(monkeypatch, written(light, TRIM)) == []
    assert not {"total-ink", "total-ink-from-objects"} & found(written(light, TRIM), LIMIT).keys()


def test_without_ghostscript_total_ink_comes_from_objects(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(case, "ghostscript_path", lambda: None)
    over = found(written("1 1 1 0 k 50 60 40 30 re f", TRIM), LIMIT)
    assert "300 % of ink" in over["total-ink"].message
    assert "not measured" in over["total-ink-from-objects"].message
    assert "total-ink" not in found(written(CLEAN, TRIM), LIMIT)


@pytest.mark.parametrize(
    ("content", "mode", "expected"),
    [
        ("/G gs 0 0 0 0 k 50 50 9 9 re f", 1, True),
        ("/G gs 0 0 0 0 k 50 50 9 9 re f", 0, False),
        ("0 0 0 0 k 50 50 9 9 re f", 1, False),
        ("/G gs 0 0 0 1 k 50 50 9 9 re f", 1, False),
        ("/G gs 1 g 50 50 9 9 re f", 1, False),
    ],
)
def test_white_overprint(content: str, mode: int, expected: bool) -> None:
    data = written(CLEAN + " " + content, TRIM, ExtGState=states(OP=True, op=True, OPM=mode))
    assert ("white-overprint" in found(data)) is expected


def test_registration_colour_inside_the_trim_only() -> None:
    assert "registration-colour" in found(registration("/A cs 1 scn 50 50 9 9 re f"))
    assert "registration-colour" not in found(registration("/A cs 1 scn 2 2 9 5 re f"))
