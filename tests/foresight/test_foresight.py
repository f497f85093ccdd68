"""What ``check`` finds without any reading."""

from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
import yaml

from inkaccord.diagnostics import Diagnostic, Severity
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.foresight.ahead import Foreseen, check_whole, look_ahead
from inkaccord.foresight.checking import UNUSABLE
from inkaccord.order.loading import load_order
from inkaccord.testing import draw_artwork
from inkaccord.workbench import Workbench
from page_kit import changed

SIZES = {"card": "5in x 7in", "envelope": "7.25in x 5.25in"}
Check = Callable[..., list[Diagnostic]]


@pytest.fixture
def check(tmp_path: Path) -> Check:
    """Return what is found in an order of a card and its envelope, with changes."""

    def check(
        changes: dict[str, object] | None = None,
        draw: Callable[[str], bytes] = draw_artwork,
        **trims: str,
    ) -> list[Diagnostic]:
        sizes = SIZES | trims
        data = {
            "order": "evening",
            "date": "2026-10-05",
            "suites": 20,
            "colours": {
                "leaf": {"aim": {"lab": [45, -38, 24]}, "in_artwork": ["cmyk 75 20 80 10"]}
            },
            "stocks": {
                "white": {"size": "letter", "grain": "long"},
                "cream": {"kind": "envelope", "size": sizes["envelope"]},
            },
            "vendors": {
                "studio": {"delivers": "sheets", "devices": {"laser": {"sheets": ["letter"]}}}
            },
            "pieces": {
                name: {
                    "artwork": f"{name}.pdf",
                    "trim": trim,
                    "device": "laser",
                    "stock": "cream" if name == "envelope" else "white",
                }
                for name, trim in sizes.items()
            },
        }
        for path, value in (changes or {}).items():
            *parents, last = path.split(".")
            here: dict[str, object] = data
            for part in parents:
                here = here.setdefault(part, {})  # type: ignore[assignment]
            here[last] = value
        for name, trim in sizes.items():
            data = yaml.safe_load(yaml.safe_dump(data))
            (tmp_path / f"{name}.pdf").write_bytes(draw(trim))
        path = tmp_path / "order.yaml"
        path.write_text(yaml.safe_dump(data, sort_keys=False), "utf-8")
        try:
            loaded = load_order(path, {})
            return [*loaded.findings, *check_whole(loaded, Workbench(loaded))]
        except InkaccordError as problem:
            return list(problem.findings)

    return check


def only(found: list[Diagnostic], field: str) -> Diagnostic:
    assert len(found) == 1, [str(it) for it in found]
    assert found[0].place.field == field
    assert found[0].place.line is not None
    return found[0]


def test_an_order_without_fault_has_no_finding(check: Check) -> None:
    assert check() == []


def test_a_piece_that_fits_no_sheet(check: Check) -> None:
    finding, beside = check(strip="13.5in x 2in")
    assert (finding.place.field, beside.code) == ("pieces.strip.trim", "beside-envelope")
    assert finding.severity is Severity.ERROR
    assert (
        "13.5 × 2 in, with 0.125 in of bleed all round, and 8.5 × 11 in leaves" in finding.message
    )
    assert "'sheets'" in (finding.hint or "")


def test_a_fold_that_fits_only_across_the_grain(check: Check) -> None:
    """Letter's grain runs along 11 in; a card of 9 in folded across its width needs it upright."""
    finding = only(
        check({"pieces.menu.fold": "vertical"}, menu="9in x 6in"), "pieces.menu.trim"
    )  # fmt: skip
    assert "across the grain" in finding.message


def test_margins_that_leave_nothing_of_a_sheet(check: Check) -> None:
    found = {it.code: it for it in check({"vendors.studio.devices.laser.margin": "5in"})}
    assert "'margin'" in (found["no-room-on-sheet"].hint or "")


def test_a_stock_that_is_smaller_than_its_sheets(check: Check) -> None:
    """A4 through a machine that is said to take SRA3 alone: it is laid on A4, and that is said."""
    device = "vendors.studio.devices.laser.sheets"
    finding = only(check({"stocks.white.size": "a4", device: ["sra3"]}), "stocks.white.size")
    assert (finding.code, finding.severity) == ("stock-not-a-sheet", Severity.WARNING)
    assert "320 × 450 mm" in finding.message
    assert "all is laid on 210 × 297 mm" in finding.message
    assert check({"stocks.white.size": "sra3", device: ["a4"]}) == []


def test_an_iso_sheet_for_an_envelope(check: Check) -> None:
    finding = only(check({"stocks.cream.size": "a2"}), "stocks.cream.size")
    assert finding.severity is Severity.ERROR
    assert "420 × 594 mm" in finding.message
    assert "did you mean a2-envelope, 5.75 × 4.375 in?" in finding.message


def test_an_envelope_of_another_size_than_its_piece(check: Check) -> None:
    finding = only(check({"stocks.cream.size": "16in x 12in"}), "stocks.cream.size")
    assert "far larger than the piece" in finding.message
    assert finding.hint == "did you mean a7-envelope?"


def test_due_before_date(check: Check) -> None:
    finding = only(check({"due": "2026-10-04"}), "due")
    assert (finding.code, finding.severity) == ("due-before-date", Severity.ERROR)
    assert check({"due": "2026-10-05"}) == []


def test_an_aim_on_a_stock_that_its_device_does_not_take(check: Check) -> None:
    finding = only(
        check({
            "vendors.studio.devices.laser.stocks": ["white"],
            "vendors.studio.devices.hand": {"stocks": ["cream"]},
            "pieces.envelope.device": "hand",
            "colours.leaf.aim": {"build": "cmyk 75 20 80 10", "on": "laser@cream"},
        }),
        "colours.leaf.aim.on",
    )  # fmt: skip
    assert finding.code == "stock-not-taken"
    assert "it takes white" in (finding.hint or "")


def test_a_spot_that_the_artwork_spells_otherwise(check: Check, tmp_path: Path) -> None:
    changes = {"colours.leaf.in_artwork": ["cmyk 75 20 80 10", "spot Chery"]}
    assert check(changes) == []  # no spot in the artwork comes near it

    def with_spot(name: str) -> None:
        with pikepdf.open(tmp_path / "card.pdf", allow_overwriting_input=True) as pdf:
            page = pdf.pages[0]
            tint = pikepdf.Dictionary(
                FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 1, 1, 0], N=1
            )
            page.obj.Resources.ColorSpace = pikepdf.Dictionary(
                Ch=pikepdf.Array([
                    pikepdf.Name.Separation, pikepdf.Name("/" + name),
                    pikepdf.Name.DeviceCMYK, tint,
                ])
            )  # fmt: skip
            page.contents_add(b"/Ch cs 1 scn 0 0 9 9 re f")
            pdf.save()

    with_spot("Cherry")
    loaded = load_order(tmp_path / "order.yaml", {})
    finding = only(list(check_whole(loaded, Workbench(loaded))), "colours.leaf.in_artwork[1]")
    assert finding.severity is Severity.WARNING
    assert finding.hint == "did you mean 'spot Cherry', as card.pdf spells it?"


@pytest.mark.parametrize(
    ("trim", "severity", "words"),
    [
        ("5in x 7in", None, ""),  # 1/4 in smaller both ways
        ("5.125in x 7in", Severity.WARNING, "only 0.12 in smaller"),
        ("5.5in x 7in", Severity.WARNING, "does not go into envelope, 7.25 × 5.25 in"),
        ("6in x 8in", Severity.NOTE, "packed beside it"),
        ("140 x 178 mm", Severity.WARNING, "an insert is about 6.3 mm smaller"),
    ],
)
def test_a_piece_that_does_not_go_into_the_envelope(
    check: Check, trim: str, severity: Severity | None, words: str
) -> None:
    found = check(card=trim)
    if severity is None:
        assert found == []
        return
    finding = only(found, "pieces.card.trim")
    assert finding.severity is severity
    assert words in f"{finding.message}; {finding.hint}"


def test_a_folded_piece_goes_in_as_it_is_folded(check: Check) -> None:
    assert check({"pieces.card.fold": "vertical", "stocks.white.grain": "short"},
                 card="10in x 7in") == []  # fmt: skip


def test_missing_files_are_named_with_their_field(check: Check) -> None:
    found = check({"evidence": "kept", "vendors.studio.pdf": {"output_profile": "press.icc"}})
    assert {it.place.field for it in found} == {
        "evidence", "vendors.studio.pdf.output_profile",
    }  # fmt: skip
    assert all(it.severity is Severity.ERROR for it in found)


def test_a_fold_outside_its_piece(check: Check) -> None:
    finding = only(check({"pieces.card.fold": {"at": "6in"}}), "pieces.card.fold.at")
    assert "whose width is 5in" in finding.message
    assert "'fold: horizontal'" in (finding.hint or "")


def test_every_fault_is_told_in_one_go(check: Check) -> None:
    found = check({"evidence": "kept", "pieces.card.artwork": "gone.pdf"}, band="11in x 2in")
    assert {it.place.field for it in found} == {
        "evidence", "pieces.card.artwork", "pieces.band.trim",
    }  # fmt: skip


def looked_ahead(folder: Path) -> Foreseen:
    loaded = load_order(folder / "order.yaml", {})
    return look_ahead(loaded, Workbench(loaded))


def test_what_can_be_made_is_known_before_anything_is_read(check: Check, tmp_path: Path) -> None:
    check(band="11in x 2in")
    (tmp_path / "card.pdf").write_bytes(b"GIF89a")
    seen = looked_ahead(tmp_path)
    assert seen.failed == {"band": "it fits on no sheet", "card": UNUSABLE}
    assert seen.pages == {"band": 1, "envelope": 1}  # the band's artwork is all right
    for name in ("envelope", "band"):
        (tmp_path / f"{name}.pdf").unlink()
    with pytest.raises(OrderError) as caught:
        looked_ahead(tmp_path)
    assert {it.place.field for it in caught.value.findings} >= {
        f"pieces.{name}.artwork" for name in SIZES
    }


def test_a_vendor_whose_profile_is_missing_takes_nothing_from_another(
    check: Check, tmp_path: Path
) -> None:
    check({
        "vendors.far": {"pdf": {"output_profile": "press.icc"}, "devices": {"hand": {}}},
        "pieces.envelope.device": "hand",
    })  # fmt: skip
    seen = looked_ahead(tmp_path)
    assert list(seen.failed) == ["envelope"]


@pytest.mark.parametrize(
    ("levels", "waive", "severity"),
    [
        ({}, {}, Severity.WARNING),
        ({"spot-two-spellings": "error"}, {}, Severity.ERROR),
        ({"spot-two-spellings": "error"}, {"spot-two-spellings": "one pot"}, Severity.NOTE),
    ],
)
def test_two_plates_of_one_spot_are_said_by_check(
    check: Check, levels: dict[str, str], waive: dict[str, str], severity: Severity
) -> None:
    changes = {
        "vendors.studio.levels": levels, "pieces.card.waive": waive, "pieces.envelope.waive": waive,
        "keep": ["spot Kelp", "spot KELP"],
    }  # fmt: skip
    found = check(changes, draw=lambda trim: changed(draw_artwork(trim), two_spellings))
    told = [it for it in found if it.code == "spot-two-spellings"]
    assert told
    assert {it.severity for it in told} == {severity}
    assert "two plates" in told[0].message


def two_spellings(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0]
    tint = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0] * 4, C1=[0.8, 0, 0.6, 0])
    names = pikepdf.Name.Separation, pikepdf.Name.DeviceCMYK
    page.obj.Resources.ColorSpace = pikepdf.Dictionary(
        {
            f"/{key}": pikepdf.Array([names[0], pikepdf.Name(f"/{spot}"), names[1], tint])
            for key, spot in (("A", "Kelp"), ("B", "KELP"))
        }
    )
    page.contents_add(b"q /A cs 1 scn 60 60 40 40 re f /B cs 1 scn 110 60 40 40 re f Q")
