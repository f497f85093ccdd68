"""What is said of an order before any stage runs."""

import datetime
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


def test_a_size_of_sample_sheets_that_fits_no_sheet_is_named_with_its_place(tmp_path: Path) -> None:
    write_starter(tmp_path, datetime.date(2026, 11, 25))
    path = tmp_path / "order.yaml"
    text = path.read_text("utf-8")
    device = next(line for line in text.splitlines() if line.strip().startswith("drive:"))
    margin = device[: len(device) - len(device.lstrip())]

    def order_with(size: str) -> LoadedOrder:
        path.write_text(text.replace(device, f"{device}\n{margin}sample_size: {size}", 1), "utf-8")
        return load_order(path, {})

    assert whole(order_with("a6")) == ()
    with pytest.raises(InkaccordError) as caught:
        whole(order_with("b1"))
    (finding,) = caught.value.findings
    assert finding.code == "sample-size"
    assert "sample_size" in str(finding.place)


def test_holes_that_no_sample_sheet_has_room_for_are_named_with_their_place(tmp_path: Path) -> None:
    write_starter(tmp_path, datetime.date(2026, 11, 25))
    path = tmp_path / "order.yaml"
    text = path.read_text("utf-8")
    device = next(line for line in text.splitlines() if line.strip().startswith("drive:"))
    margin = device[: len(device) - len(device.lstrip())]
    small = text.replace(device, f"{device}\n{margin}sample_size: a6")

    def order_with(holes: str) -> LoadedOrder:
        path.write_text(f"{small}\nsamples: {{keep: binder, holes: {holes}}}\n", "utf-8")
        return load_order(path, {})

    assert whole(order_with("two")) == ()
    with pytest.raises(InkaccordError) as caught:
        whole(order_with("three"))
    finding = caught.value.findings[0]
    assert finding.code == "too-short-to-punch"
    assert "holes" in str(finding.place)
