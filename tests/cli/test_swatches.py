"""``inkaccord swatches``, as a person calls it."""

import io
import json
import re
import sys
import types
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest

from inkaccord.cli.main import run_main
from inkaccord.drawing.canvas import Drawing
from inkaccord.plugin import SampleSheet, hookimpl
from inkaccord.shelf.store import Shelf
from inkaccord.units import millimetres

ROOT = Path(__file__).parents[2]
BLEED_PT = 9.0
"""An eighth of an inch, as the example's shop of cards asks for."""
HERE = ["--on", "2026-05-14", "--shelf", "shelf.sqlite"]


@pytest.fixture(autouse=True)
def _in_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def called(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, dict[str, Any]]:
    return asked(capsys, "swatches", *arguments)


def asked(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, dict[str, Any]]:
    code = run_main([*arguments, *HERE, "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_a_swatch_set_and_its_addition_go_on_the_shelf_and_into_one_file(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, swatch_set = called(capsys, "laser@kraft", "--count", "120")
    assert code == 0
    assert swatch_set["swatches"] == 120
    assert swatch_set["spaced_by"] == "what is usual"
    assert swatch_set["new"]
    code, added = called(
        capsys, "laser@kraft", "--add-to", swatch_set["sheet"], "--hues", "greens", "--count", "20",
        "--whole", "--keep", "binder",
    )  # fmt: skip
    assert code == 0
    assert added["adds_to"] == [swatch_set["sheet"]]
    assert added["name"] == swatch_set["name"] == ""
    pdf = next(Path(name) for name in added["files"] if name.endswith(".pdf"))
    with pikepdf.open(io.BytesIO(pdf.read_bytes())) as document:
        assert len(document.pages) == swatch_set["pages"] + added["pages"]
    capsys.readouterr()
    assert run_main(["shelf", "--shelf", "shelf.sqlite", "list"]) == 0
    listed = capsys.readouterr().out
    assert swatch_set["sheet"] in listed
    assert added["sheet"] in listed


def test_the_same_swatch_set_asked_for_again_changes_no_byte(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _, first = called(capsys, "laser@kraft", "--count", "100")
    before = {name: Path(name).read_bytes() for name in first["files"]}
    _, again = called(capsys, "laser@kraft", "--count", "100")
    assert again["sheet"] == first["sheet"]
    assert not again["new"]
    assert {name: Path(name).read_bytes() for name in again["files"]} == before


def test_cards_come_with_their_cut_plan(capsys: pytest.CaptureFixture[str]) -> None:
    _, swatch_set = called(
        capsys, "inkjet@card", "--drive", "rgb", "--keep", "cards", "--count", "100",
        "--size", "letter",
    )  # fmt: skip
    pdf = next(Path(name) for name in swatch_set["files"] if name.endswith(".pdf"))
    with pikepdf.open(io.BytesIO(pdf.read_bytes())) as document:
        assert len(document.pages) == 1 + -(-swatch_set["pages"] // 4)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["laserkraft"], "expected 'device@stock'"),
        (["laser@kraft", "--size", "a44"], "is not a size"),
        (["laser@kraft", "--margin", "4"], "has no unit"),
        (["laser@kraft", "--count", "0"], "1<=x<=5000"),
        (["laser@kraft", "--near", "kelp"], "'kelp' is no colour"),
        (["laser@kraft", "--near", "lab 50 0 0", "--hues", "greys"], "give one of them"),
        (["laser@kraft", "--hues", "kelps"], "yellow greens"),
        (["laser@kraft", "--add-to", "ZZZ-ZZZ"], "no sheet ZZZ-ZZZ"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_written(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert run_main(["swatches", *arguments, *HERE]) == 2
    told = capsys.readouterr()
    assert said in " ".join(told.err.split())
    assert not (tmp_path / "sheets").exists()


def test_forty_greens_stand_on_one_page_below_their_name(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, greens = called(capsys, "laser@kraft", "--hues", "greens", "--count", "40")
    assert (code, greens["swatches"], greens["pages"]) == (0, 40, 1)
    pdf = next(path for path in greens["files"] if path.endswith(".pdf"))
    with pypdfium2.PdfDocument(pdf) as document:
        words = document[0].get_textpage().get_text_bounded()
    assert words.count("Greens") == 2, "in the head, and above the swatches"


def test_a_swatch_set_has_the_bleed_and_the_page_that_the_vendor_asks_for(
    capsys: pytest.CaptureFixture[str],
) -> None:
    order = (ROOT / "jobs_example" / "members_evening" / "order.yaml").resolve()
    for command in ("swatches", "controls"):
        more = ("--count", "60") if command == "swatches" else ()
        _, made = asked(
            capsys, command, "millrace-press@smooth-ivory", *more, "--order", str(order)
        )
        pdf = next(path for path in made["files"] if path.endswith(".pdf"))
        assert not any("cut-out" in path for path in made["files"])
        with pikepdf.open(pdf) as document:
            for page in document.pages:
                trim = [float(edge) for edge in page.TrimBox]
                media = [float(edge) for edge in page.MediaBox]
                assert trim[0] - media[0] == pytest.approx(BLEED_PT)
                assert media[3] - trim[3] == pytest.approx(BLEED_PT)


def test_controls_are_kept_as_a_card_or_in_a_binder(capsys: pytest.CaptureFixture[str]) -> None:
    for keep, pages in (("binder", 1), ("cards", 2)):
        _, made = asked(capsys, "controls", "laser@kraft", "--keep", keep, "--size", "letter")
        pdf = next(path for path in made["files"] if path.endswith(".pdf"))
        with pikepdf.open(pdf) as document:
            assert len(document.pages) == pages
            assert [float(edge) for edge in document.pages[-1].MediaBox] == [0, 0, 612, 792]
    with pypdfium2.PdfDocument(pdf) as document:  # the cut plan of a single card
        plan = document[0].get_textpage().get_text_bounded()
    assert re.search("1 card of .* from 1 sheet of ", plan), plan


@pytest.mark.slow
def test_a_told_paper_is_remembered_for_additions(capsys: pytest.CaptureFixture[str]) -> None:
    _, swatch_set = called(capsys, "laser@night", "--count", "100", "--paper", "25", "2", "-8")
    assert [it["code"] for it in swatch_set["findings"]] == ["unknown-pair", "dark-stock"]
    addition = ("--add-to", swatch_set["sheet"], "--hues", "blues", "--count", "10")
    _, added = called(capsys, "laser@night", *addition)
    assert [it["code"] for it in added["findings"]] == ["dark-stock"]
    _, again = called(capsys, "laser@night", "--count", "100")
    assert [it["code"] for it in again["findings"]] == ["dark-stock"]
    _, light = called(capsys, "laser@day", "--count", "100")
    assert [it["code"] for it in light["findings"]] == ["unknown-pair"]
    assert light["min_delta_e"] > swatch_set["min_delta_e"]


def test_swatches_are_as_large_as_the_orders_instrument_asks(
    capsys: pytest.CaptureFixture[str],
) -> None:
    order = (ROOT / "docs" / "parts" / "whole-order.yaml").read_text("utf-8")
    Path("order.yaml").write_text(order + "\naperture: 16mm\n", "utf-8")
    kept = ("--count", "100", "--order", "order.yaml")
    for given, narrowest_mm in ((), 19), (("--aperture", "20mm"), 23):
        _, made = called(capsys, "press@natural-cotton", *kept, *given)
        with Shelf.open("shelf.sqlite") as store:
            boxes = [it.box_pt for it in store.sheet(made["sheet"]).swatches if it.box_pt]
        heights = [top - bottom for _, bottom, _, top in boxes]
        assert min(heights) == pytest.approx(millimetres(narrowest_mm), abs=0.1)


def test_a_plugin_draws_a_swatch_set_and_the_controls_too(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    drawer = types.ModuleType("draws_plainly")

    def inkaccord_draw_sheet(sheet: SampleSheet) -> bytes:
        drawing = Drawing(sheet.size, title="drawn plainly")
        for number in range(sheet.pages):
            drawing.page(sheet.size)
            drawing.canvas.drawString(20, 20, f"plain {sheet.id} {number + 1}")
            drawing.canvas.showPage()
        return drawing.bytes()

    drawer.inkaccord_draw_sheet = hookimpl(inkaccord_draw_sheet)  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "draws_plainly", drawer)
    plain = ("--plugin", "draws_plainly")
    _, swatch_set = asked(
        capsys, *plain, "swatches", "press@card", "--count", "100", "--keep", "cards"
    )
    _, controls = asked(capsys, *plain, "controls", "press@card")
    for told in (swatch_set, controls):
        pdf = next(path for path in told["files"] if path.endswith(".pdf"))
        with pypdfium2.PdfDocument(pdf) as document:
            words = "".join(page.get_textpage().get_text_bounded() for page in document)
        assert f"plain {told['sheet']} 1" in words


def test_a_plugin_that_cannot_draw_is_named_and_the_set_is_drawn_all_the_same(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.syspath_prepend(str(Path(__file__).parents[1] / "plugins" / "broken"))
    code, told = asked(
        capsys, "--plugin", "draws_badly", "swatches", "press@card", "--count", "100"
    )
    assert code == 0
    assert "draws_badly" in {finding["source"] for finding in told["findings"]}
    assert Path(told["files"][0]).read_bytes().startswith(b"%PDF")
