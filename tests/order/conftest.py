import textwrap
from pathlib import Path

import pytest

GOOD = """
order: evening
date: 2026-10-05
suites: 20
colours:
  kelp:
    aim: {lab: [33, -24, 4]}
    in_artwork: [cmyk 85 20 60 30, spot Kelp]
stocks:
  natural-cotton: {size: letter, weight: 300 g/m2, grain: long}
vendors:
  studio:
    delivers: sheets
    overs: {percent: 5}
    devices:
      laser: {sheets: [letter], setting: card}
pieces:
  card: {artwork: card.pdf, trim: 5in x 7in, device: laser, stock: natural-cotton, extra: 3}
"""


@pytest.fixture
def write_order(tmp_path):
    """Write an order: the good one, with (old, new) pieces of its text replaced."""

    def write(*changes: tuple[str, str], text: str = GOOD) -> Path:
        text = textwrap.dedent(text).lstrip()
        for old, new in changes:
            assert old in text, f"{old!r} is not in the order"
            text = text.replace(old, new, 1)
        path = tmp_path / "order.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return write
