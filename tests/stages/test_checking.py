"""What is said of an order before any stage runs."""

import datetime
from pathlib import Path

import pikepdf
import pytest

from inkaccord.errors import InkaccordError
from inkaccord.order.loading import load_order
from inkaccord.stages.checking import check_order
from inkaccord.starter.order import write_starter


def test_protected_artwork_is_refused_before_anything_is_done(tmp_path: Path) -> None:
    folder = tmp_path / "order"
    write_starter(folder, datetime.date(2026, 11, 25))
    order = load_order(folder / "order.yaml", {})
    assert check_order(order) == ()
    card = folder / "artwork" / "card.pdf"
    with pikepdf.open(card, allow_overwriting_input=True) as pdf:
        rights = pikepdf.Permissions(modify_other=False)
        pdf.save(card, encryption=pikepdf.Encryption(owner="owner", user="", allow=rights))
    with pytest.raises(InkaccordError) as caught:
        check_order(order)
    finding = caught.value.findings[0]
    assert finding.code == "changes-forbidden"
    assert "artwork/card.pdf" in finding.message
    assert finding.place.field or finding.place.line
