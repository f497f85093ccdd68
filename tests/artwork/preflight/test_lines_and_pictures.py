"""Checks of lines, and of pictures' resolution."""

import pytest

from check_kit import RULES, TRIM, found, pictured
from page_kit import written


@pytest.mark.parametrize(
    ("content", "code"),
    [
        ("0.1 w 50 50 m 90 50 l S", "hairline"),
        ("0 w 50 50 m 90 50 l S", "line-without-width"),
        ("0.3 w 50 50 m 90 50 l S", None),
        ("0.3 w 1 1 0 0 K 50 50 m 90 50 l S", "thin-line-several-inks"),
        ("0.6 w 1 1 0 0 K 50 50 m 90 50 l S", None),
        ("q 0.1 0 0 0.1 0 0 cm 1 w 500 500 m 900 500 l S Q", "hairline"),
        ("0 0 0 1 k 50 50 80 0.1 re f", "hairline"),
        ("0 0 0 0 K 0.1 w 50 50 m 90 50 l S", None),
    ],
)
def test_lines(content: str, code: str | None) -> None:
    assert set(found(written(content, TRIM))) == ({code} if code else set())


def test_image_resolution_at_final_size() -> None:
    assert "at 144 pixels" in found(pictured(144, 72))["image-resolution"].message
    assert "image-resolution" not in found(pictured(300, 72))
    assert "image-resolution" not in found(pictured(248, 72))
    rules = RULES.model_copy(update={"line_art_dpi": 600.0})
    assert "image-resolution" in found(pictured(300, 72, bits=1), rules)
    assert "image-resolution" not in found(pictured(600, 72, bits=1), rules)
