import pytest
import yaml

from inkaccord.order.loading import load_order
from inkaccord.testing import draw_artwork


@pytest.fixture
def loaded(tmp_path):
    """Load an order of one card for a studio that lays its own sheets, with what differs."""
    (tmp_path / "card.pdf").write_bytes(draw_artwork("5in x 7in"))

    def load(piece=None, stock=None, vendor=None, device=None, order=None):
        takes = {"sheets": ["12in x 18in"]} | (device or {})
        more = {name: value for name, value in (order or {}).items() if value is not None}
        order = {
            "order": "laid", "title": "Laid", "date": "2026-10-05", "suites": 40,
            "colours": {
                "leaf": {"aim": {"lab": [52, -28, 22]}, "in_artwork": ["cmyk 75 20 80 10"]}
            },
            "stocks": {"white": {"size": [*takes["sheets"], "12in x 18in"][0]} | (stock or {})},
            "vendors": {
                "studio": {
                    "delivers": "sheets",
                    "devices": {"press": takes},
                } | (vendor or {})
            },
            "pieces": {
                "card": {
                    "artwork": "card.pdf", "trim": "5in x 7in", "device": "press", "stock": "white",
                } | (piece or {})
            },
        } | more  # fmt: skip
        (tmp_path / "order.yaml").write_text(yaml.safe_dump(order), "utf-8")
        return load_order(tmp_path / "order.yaml", {})

    return load
