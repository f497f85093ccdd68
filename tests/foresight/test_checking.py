"""What is said of an order before any stage runs."""

import datetime
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.foresight.ahead import check_whole
from inkaccord.order.loading import LoadedOrder, load_order
from inkaccord.starter.order import write_starter
from inkaccord.workbench import Workbench


def whole(loaded: LoadedOrder) -> tuple[Diagnostic, ...]:
    return check_whole(loaded, Workbench(loaded))


def test_protected_artwork_is_refused_before_anything_is_done(tmp_path: Path) -> None:
    folder = tmp_path / "order"
    write_starter(folder, datetime.date(2026, 11, 25))
    order = load_order(folder / "order.yaml", {})
    assert whole(order) == ()
    card = folder / "artwork" / "card.pdf"
    with pikepdf.open(card, allow_overwriting_input=True) as pdf:
        rights = pikepdf.Permissions(modify_other=False)
        pdf.save(card, encryption=pikepdf.Encryption(owner="owner", user="", allow=rights))
    with pytest.raises(InkaccordError) as caught:
        whole(order)
    finding = caught.value.findings[0]
    assert finding.code == "changes-forbidden"
    assert "artwork/card.pdf" in finding.message
    assert finding.place.field or finding.place.line


@pytest.fixture
def with_samples(tmp_path: Path) -> Callable[..., LoadedOrder]:
    """A starter order whose sample sheets have a size of their own, and with more at its end."""
    write_starter(tmp_path, datetime.date(2026, 11, 25))
    path = tmp_path / "order.yaml"
    text = path.read_text("utf-8")
    device = next(line for line in text.splitlines() if line.strip().startswith("drive:"))
    margin = device[: len(device) - len(device.lstrip())]

    def order_with(size: str, more: str = "") -> LoadedOrder:
        sized = text.replace(device, f"{device}\n{margin}sample_size: {size}", 1)
        path.write_text(sized + more, "utf-8")
        return load_order(path, {})

    return order_with


def test_a_size_of_sample_sheets_that_fits_no_sheet_is_named_with_its_place(
    with_samples: Callable[..., LoadedOrder],
) -> None:
    assert whole(with_samples("a6")) == ()
    with pytest.raises(InkaccordError) as caught:
        whole(with_samples("b1"))
    (finding,) = caught.value.findings
    assert finding.code == "sample-size"
    assert "sample_size" in str(finding.place)


def test_holes_that_no_sample_sheet_has_room_for_are_named_with_their_place(
    with_samples: Callable[..., LoadedOrder],
) -> None:
    assert whole(with_samples("a6", "\nsamples: {keep: binder, holes: two}\n")) == ()
    with pytest.raises(InkaccordError) as caught:
        whole(with_samples("a6", "\nsamples: {keep: binder, holes: three}\n"))
    finding = caught.value.findings[0]
    assert finding.code == "too-short-to-punch"
    assert "holes" in str(finding.place)
