"""Foil, white and die lines pass as plates of their own: untouched, told, and never as a colour."""

from pathlib import Path

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from inkaccord.errors import ExitCode
from outside import plates
from pdf_words import words_of
from run_kit import change, inkaccord, record_all, run_of, state

pytestmark = pytest.mark.slow

ORDER = """
order: foiled
date: 2026-11-28
suites: 10
shelf: shelf.sqlite
colours:
  kelp: {aim: {lab: [40, -22, 4]}, in_artwork: [cmyk 85 20 60 30]}
finishes:
  gold: {finish: foil, in_artwork: spot Gold Foil, note: matt gold}
  white: {finish: white, in_artwork: [spot White]}
  die: {finish: die line, in_artwork: [spot Die]}
stocks:
  card: {size: letter, colour: [95, 0, 0]}
vendors:
  studio: {delivers: pieces, marks: false, bleed: 0.125in, devices: {press: {ink_limit: 220}},
           finishes: {foil: overprint, white: overprint, die-line: overprint}}
pieces:
  tag: {artwork: tag.pdf, trim: 5in x 7in, device: press, stock: card}
"""
CONTENT = b"""
/White cs 1 scn 60 60 250 120 re f
0.85 0.2 0.6 0.3 k 80 80 200 80 re f
/Gold cs 1 scn 100 100 60 40 re f 0.5 scn 180 240 60 60 re f
/On gs /Gold cs 1 scn 120 400 m 180 480 l 240 400 l f /Off gs
/Die CS 1 SCN 0.1 w 15 15 348 492 re S
/Both cs 1 0.5 scn 300 380 40 60 re f
/Form Do
"""


def separation(name: str, *cmyk: float) -> Array:
    tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=cmyk, N=1)
    return Array([Name.Separation, Name(f"/{name}"), Name.DeviceCMYK, tint])


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an order of a piece with three finishes, run to its end."""
    room = tmp_path_factory.mktemp("foiled")
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(378, 522))
        page.TrimBox = Array([9, 9, 369, 513])
        page.BleedBox = page.MediaBox
        both = Array([Name.DeviceN, Array([Name("/Gold Foil"), Name.Black]), Name.DeviceCMYK])
        both.append(
            pdf.make_stream(
                b"{ exch pop 0 0 0 4 -1 roll }",
                FunctionType=4,
                Domain=[0, 1, 0, 1],
                Range=[0, 1, 0, 1, 0, 1, 0, 1],
            )
        )
        spaces = Dictionary(
            Gold=separation("Gold Foil", 0, 0.2, 0.6, 0.2),
            White=separation("White", 0, 0, 0, 0.1),
            Die=separation("Die", 0, 1, 0, 0),
            Both=both,
        )
        form = pdf.make_stream(
            b"/Gold cs 1 scn 20 320 40 40 re f 0 0 0 1 k 70 320 40 40 re f",
            Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 378, 522],
            Resources=Dictionary(ColorSpace=spaces),
        )  # fmt: skip
        page.Resources = Dictionary(
            ColorSpace=spaces,
            ExtGState=Dictionary(
                On=Dictionary(op=True, OP=True), Off=Dictionary(op=False, OP=False)
            ),
            XObject=Dictionary(Form=form),
        )
        page.Contents = pdf.make_stream(CONTENT)
        pdf.save(room / "tag.pdf")
    (room / "order.yaml").write_text(ORDER, "utf-8")
    inkaccord("run", room)
    record_all(room)
    code, out, err = inkaccord("run", room)
    assert code == ExitCode.DONE, out + err
    return room


def codes(order: Path) -> list[str]:
    return [it["code"] for it in run_of(order)["findings"]]


def test_every_plate_is_what_it_was_and_only_the_colour_moved(
    finished: Path, tmp_path: Path
) -> None:
    before = plates((finished / "tag.pdf").read_bytes(), tmp_path)
    after = plates((finished / "out/studio/foiled-tag.pdf").read_bytes(), tmp_path)
    for plate in ("Gold Foil", "White", "Die"):
        assert before[plate].max() > 99
        assert np.abs(before[plate] - after[plate]).max() < 0.5, plate
    assert np.abs(before["Cyan"] - after["Cyan"]).max() > 2


def test_it_is_known_as_a_finish_and_is_on_no_colour_proof(finished: Path) -> None:
    run = run_of(finished)
    (artwork,) = run["artworks"]
    found = {it["colour"] for it in artwork["colours"] if it["found_as"] == "finish"}
    assert found == {"gold", "white", "die"}
    assert {it["colour"] for it in run["translations"]} == {"kelp"}
    # 195 % of kelp under 100 % of foil and of white is no more ink than kelp is.
    assert not {"total-ink", "unknown-colour", "thin-line"} & set(codes(finished))


def test_what_lies_otherwise_than_the_vendor_wants_is_said_and_not_changed(finished: Path) -> None:
    said = codes(finished)
    assert said.count("finish-knocks-out") == 3
    assert "finish-covered" in said, "kelp is painted over the white without overprint"
    assert overprints(finished / "out/studio/foiled-tag.pdf", "Gold Foil") == {True, False}


def test_the_order_sheet_names_each_and_which_must_not_print(finished: Path) -> None:
    said = words_of((finished / "out/studio/order-sheet.pdf").read_bytes())
    for words in (
        "plate ‘Gold Foil’: foil (matt gold)",
        "‘White’: white",
        "plate ‘Die’: die line, not to be printed",
        "hatched: ",
        "gold (foil)",
        "dashed: die (die line)",
        "Inks 4 process inks (cyan, magenta, yellow and black)",
    ):
        assert words in said, words


def test_the_message_names_each_plate_that_is_no_colour(finished: Path) -> None:
    code, said, _ = inkaccord("message", finished)
    assert code == ExitCode.DONE
    for line in (
        "- plate ‘Gold Foil’: foil (matt gold)",
        "- plate ‘White’: white",
        "- plate ‘Die’: die line, not to be printed",
    ):
        assert line in said.splitlines(), said


def test_every_page_with_a_picture_says_what_the_lines_in_it_mean(finished: Path) -> None:
    for path in ("agreement.pdf", "client.pdf"):
        said = words_of((finished / "out" / path).read_bytes())
        assert "hatched: " in said, path
        assert "gold (foil)" in said, path
    report = (finished / "out" / "report.html").read_text("utf-8")
    assert report.count("dashed: die (die line)") == 1, "once for both pictures of the piece"


def test_a_picture_shows_it_in_greys_alone(finished: Path) -> None:
    with pikepdf.open(finished / "out/studio/order-sheet.pdf") as pdf:
        (shown,) = (
            pikepdf.PdfImage(it).as_pil_image().convert("RGB")
            for it in pdf.pages[0].Resources.XObject.values()
            if it.Subtype == Name.Image
        )
    width, height = shown.size
    # The triangle of foil on bare paper: 120 to 240 pt across, 400 to 480 pt up.
    box = [(155 - 9) / 360 * width, (513 - 425) / 504 * height]
    pixels = np.asarray(shown.crop((box[0], box[1] - 8, box[0] + 20, box[1] + 8)), np.int16)
    spread = pixels.max(axis=2) - pixels.min(axis=2)
    assert spread.max() < 12, "the paper and greys, nothing of a golden yellow"
    assert pixels.min() < 110, "lines"
    assert pixels.max() > 200, "and paper between them"


def overprints(path: Path, plate: str) -> set[bool]:
    """Return whether fills of a plate overprint, read by pikepdf alone."""
    with pikepdf.open(path) as pdf:
        found: set[bool] = set()
        for page in pdf.pages:
            _fills(page, page.Resources, plate, on=False, found=found)
        return found


def _fills(stream, resources, plate, *, on, found):  # type: ignore[no-untyped-def]  # a tree of pikepdf's
    inks, stack = "", []
    for operands, operator in pikepdf.parse_content_stream(stream):
        match str(operator):
            case "q":
                stack.append((inks, on))
            case "Q":
                inks, on = stack.pop()
            case "gs":
                on = bool(resources.ExtGState[str(operands[0])].get("/op", on))
            case "cs":
                inks = str(resources.ColorSpace[str(operands[0])][1])
            case "k":
                inks = ""
            case "f" if inks == f"/{plate}":
                found.add(on)
            case "f" if not inks:
                assert not on, "what is no plate keeps its overprint"
            case "Do":
                form = resources.XObject[str(operands[0])]
                if form.Subtype == Name.Form:
                    inner = form.get("/Resources", resources)
                    _fills(form, inner, plate, on=on, found=found)


@pytest.fixture
def mine(finished: Path, tmp_path: Path) -> Path:
    for path, (_, data) in state(finished).items():
        here = tmp_path / path
        here.parent.mkdir(parents=True, exist_ok=True)
        here.write_bytes(data)
    return tmp_path


def test_the_order_may_set_overprint_and_then_all_of_it_is_so(mine: Path) -> None:
    change(mine, "{finish: foil,", "{finish: foil, overprint: overprint,")
    inkaccord("run", mine)
    sent = mine / "out/studio/foiled-tag.pdf"
    assert overprints(sent, "Gold Foil") == {True}
    assert overprints(sent, "White") == {False}
    assert "finish-knocks-out" in codes(mine), "white and die lines stay as they were drawn"
    change(mine, "overprint: overprint, in_artwork", "overprint: knock out, in_artwork")
    inkaccord("run", mine)
    assert overprints(sent, "Gold Foil") == {False}


def test_a_vendor_that_does_not_list_a_finish_is_told_of_by_check(mine: Path) -> None:
    change(mine, "foil: overprint, ", "")
    code, out, err = inkaccord("check", mine)
    assert code != ExitCode.DONE
    assert "tag carries the foil 'gold', and studio lists white and die-line" in out + err


def test_what_is_no_whole_spot_is_refused(mine: Path) -> None:
    change(mine, "spot Gold Foil", "cmyk 0 20 60 20")
    code, out, err = inkaccord("check", mine)
    assert code == ExitCode.WRONG
    assert "a finish is drawn in a spot" in out + err


def test_white_under_ink_makes_another_pair_whose_sheet_carries_the_white(
    mine: Path, tmp_path: Path
) -> None:
    change(
        mine, "colour: [95, 0, 0]}", "colour: [95, 0, 0]}\n  ground: {size: letter, under: white}"
    )
    change(mine, "stock: card", "stock: ground")
    code, out, err = inkaccord("run", mine)
    assert code == ExitCode.WAITING, out + err
    (step,) = (it for it in run_of(mine)["next"] if it["kind"] == "print")
    sheet = next((mine / "out" / "samples").glob(f"*/*{step['sheet']}*.pdf")).read_bytes()
    inks = plates(sheet, tmp_path)
    solid = inks["Cyan"] > 99
    assert solid.sum() > 500
    assert inks["White"][solid].min() > 99, "white lies under every swatch, knocked out by none"
    black = inks["Black"] > 99
    assert black.sum() > 500
    assert inks["White"][black].mean() > 90, "and under type and code, not to be read on the dark"
    asked = words_of((mine / "out/samples/studio/order-sheet.pdf").read_bytes())
    assert "plate ‘White’: white, under all ink; it lies under all of the sheet" in asked
    assert "plate White under all" in words_of(sheet)
    assert "plate White under every swatch" in inkaccord("message", mine)[1]
    assert "WHITE_UNDER" in (mine / "out" / "samples" / f"{step['sheet']}.txt").read_text()


def test_white_on_a_bare_stock_is_told_of(finished: Path) -> None:
    assert "white-beside-ink" in codes(finished)


def test_a_stock_on_a_white_that_is_no_finish_is_refused(mine: Path) -> None:
    change(mine, "colour: [95, 0, 0]}", "colour: [95, 0, 0], under: whte}")
    code, out, err = inkaccord("check", mine)
    assert code == ExitCode.WRONG
    assert "did you mean 'white'" in out + err
