"""One piece that can't be made takes nothing from another, and asks for nothing."""

import io
import json

import pikepdf
import pytest

from inkaccord.errors import ExitCode
from inkaccord.testing import draw_artwork
from run_kit import change, run_of, state

pytestmark = pytest.mark.slow


def locked(data):
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        pdf.save(out, encryption=pikepdf.Encryption(owner="owner", user="user"))
    return out.getvalue()


def broken_page(data):
    """Return a file whose page can be found, but not unpacked."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        packed = pikepdf.Dictionary(Filter=pikepdf.Name.FlateDecode)
        pdf.pages[0].obj.Contents = pdf.make_stream(b"x\x9cno deflate", packed)
        pdf.save(
            out, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none
        )  # fmt: skip
    return out.getvalue()


DAMAGES = {
    "cannot-read": lambda data: None,
    "not-a-pdf": lambda data: data[: len(data) * 2 // 3],
    "needs-password": locked,
    "broken-page": broken_page,
}


def damage(path, how):
    data = how(path.read_bytes())
    path.unlink()
    if data is not None:
        path.write_bytes(data)


def statuses(order):
    return {it["name"]: it["status"] for it in run_of(order)["pieces"]}


def said_of(findings, piece):
    return [
        (it["code"], it["severity"], it["message"], it["in_program"] or it["hint"])
        for it in findings
        if (it["place"]["field"] or "").startswith(f"pieces.{piece}.")
    ]


@pytest.mark.parametrize(
    "code",
    ["cannot-read", "broken-page"]
    + [pytest.param(it, marks=pytest.mark.slow) for it in ("not-a-pdf", "needs-password")],
)
def test_a_file_that_cannot_be_used_fails_its_piece_alone(code, order, inkaccord, inkaccord_json):
    damage(order / "card.pdf", DAMAGES[code])
    checked = inkaccord_json("check", order)
    assert checked[0] == 4
    assert inkaccord("run", order)[0] == 4
    run = run_of(order)
    assert statuses(order) == {"card": "failed", "envelope": "waiting"}
    assert {it["stock"] for it in run["samples"]} == {"cream"}
    assert "unused-colour" not in {it["code"] for it in run["findings"]}
    ((found, severity, message, hint),) = said = said_of(run["findings"], "card")
    assert (found, severity) == (code, "error")
    assert message.startswith("card.pdf: ")
    assert message.count("card.pdf") == 1
    assert hint
    assert said_of(checked[1]["findings"], "card") == said


def test_files_of_the_other_pieces_stay(finished, inkaccord):
    before = state(finished / "out")
    good = (finished / "card.pdf").read_bytes()
    (finished / "card.pdf").write_bytes(b"GIF89a")
    code, out, _ = inkaccord("run", finished)
    assert code == 4
    assert "its artwork can't be used" in out
    assert "Mend card" in out
    assert statuses(finished) == {"card": "failed", "envelope": "ready"}
    after = state(finished / "out")
    prints = [it["path"] for it in run_of(finished)["files"] if it["what"] == "print"]
    assert prints
    assert all("envelope" in path and after[path] == before[path] for path in prints)
    (finished / "card.pdf").write_bytes(good)
    assert inkaccord("run", finished)[0] == 0
    assert {name: data for name, (_, data) in state(finished / "out").items()} == {
        name: data for name, (_, data) in before.items()
    }


def test_what_was_accepted_on_it_is_not_forgotten(finished, inkaccord):
    path = finished / "order.yaml"
    text = path.read_text("utf-8")
    path.write_text(text + "pieces.card.accept: {leaf: the door is in shade}\n", "utf-8")
    inkaccord("run", finished)
    accepted = run_of(finished)["accepted"]
    assert [it["why"] for it in accepted] == ["the door is in shade"]
    (finished / "card.pdf").write_bytes(b"GIF89a")
    assert inkaccord("run", finished)[0] == 4
    assert run_of(finished)["accepted"] == accepted
    path.write_text(text, "utf-8")
    inkaccord("run", finished)
    assert run_of(finished)["accepted"] == []


def test_when_every_piece_fails_nothing_is_written(order, inkaccord):
    for name in ("card", "envelope"):
        (order / f"{name}.pdf").write_bytes(b"GIF89a")
    code, _, err = inkaccord("run", order)
    assert code == 5
    assert "card.pdf" in err
    assert "envelope.pdf" in err
    assert not (order / "out").exists()


def test_a_piece_that_fits_no_sheet_asks_for_none(order, inkaccord, inkaccord_json):
    """It is the only one on its stock, whose pair would be read for it alone."""
    path = order / "order.yaml"
    kraft = path.read_text("utf-8").replace("  white:", "  kraft: {size: letter}\n  white:")
    band = "  band: {artwork: band.pdf, trim: 11in x 2in, device: press, stock: kraft}\n"
    path.write_text(kraft.replace("tolerances:", f"{band}tolerances:"), "utf-8")
    (order / "band.pdf").write_bytes(draw_artwork("11in x 2in"))
    code, data = inkaccord_json("run", order)
    assert code == 4
    assert statuses(order) == {"card": "waiting", "envelope": "waiting", "band": "failed"}
    assert {it["stock"] for it in data["samples"]} == {"white", "cream"}
    (error,) = (it for it in data["findings"] if it["severity"] == "error")
    assert (error["code"], error["place"]["field"]) == ("piece-too-large", "pieces.band.trim")
    code, checked = inkaccord_json("check", order)
    assert code == 4
    by_name = [it | {"place": it["place"] | {"file": "order.yaml"}} for it in checked["findings"]]
    assert error in by_name  # a record has the order's file without its folder
    assert "as its artwork can't be used" not in (order / "out/report.html").read_text("utf-8")


def test_a_fault_of_the_order_itself_stops_the_run(order, inkaccord):
    path = order / "order.yaml"
    path.write_text(path.read_text("utf-8") + "evidence: kept\n", "utf-8")
    assert inkaccord("run", order)[0] in {2, 5}
    assert not (order / "out").exists()


def test_a_missing_output_profile_fails_its_vendors_pieces(order, inkaccord_json):
    path = order / "order.yaml"
    text = path.read_text("utf-8").replace(
        "device: press, stock: cream", "device: pen, stock: cream"
    )
    other = "  other:\n    pdf: {output_profile: press.icc}\n    devices: {pen: {}}\npieces:\n"
    path.write_text(text.replace("pieces:\n  card", f"{other}  card"), "utf-8")
    code, data = inkaccord_json("run", order)
    assert code == 4
    whys = {it["name"]: it["why"] for it in data["pieces"] if it["status"] == "failed"}
    assert whys == {"envelope": "its vendor's output profile is missing"}
    (error,) = (it for it in data["findings"] if it["severity"] == "error")
    assert error["place"]["field"] == "vendors.other.pdf.output_profile"
    assert json.loads((order / "out" / "packing-list.json").read_text("utf-8"))["missing"]


def test_a_spot_that_is_spelt_otherwise_is_said_once(order, inkaccord_json):
    path = order / "order.yaml"
    leaf = "in_artwork: [cmyk 75 20 80 10]"
    text = path.read_text("utf-8").replace(leaf, "in_artwork: [spot Chery]")
    path.write_text(text, "utf-8")
    with pikepdf.open(order / "card.pdf", allow_overwriting_input=True) as pdf:
        page = pdf.pages[0]
        tint = pikepdf.Dictionary(
            FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 1, 1, 0], N=1
        )
        space = [
            pikepdf.Name.Separation, pikepdf.Name.Cherry, pikepdf.Name.DeviceCMYK, tint,
        ]  # fmt: skip
        page.obj.Resources.ColorSpace = pikepdf.Dictionary(Ch=pikepdf.Array(space))
        page.contents_add(b"/Ch cs 1 scn 0 0 90 90 re f")
        pdf.save()
    data = inkaccord_json("run", order)[1]
    told = [it for it in data["findings"] if "Cher" in f"{it['message']} {it['hint']}"]
    assert [(it["code"], it["hint"]) for it in told] == [
        ("spot-spelt-otherwise", "did you mean 'spot Cherry', as card.pdf spells it?")
    ]
    assert "unused-colour" not in {it["code"] for it in data["findings"]}


def test_a_file_that_is_no_pdfx4_is_not_sent(finished, inkaccord):
    """With a profile in RGB each file missed the standard, and was ready all the same."""
    profile = bytearray(132)  # its header (ISO 15076-1, 7.2) is all that is looked at
    profile[12:16], profile[16:20], profile[36:40] = b"prtr", b"RGB ", b"acsp"
    (finished / "press.icc").write_bytes(profile)
    asks = "delivers: sheets\n    pdf: {standard: pdf/x-4, output_profile: press.icc}\n"
    change(finished, "delivers: sheets\n", asks)
    assert inkaccord("run", finished)[0] == ExitCode.DISAGREE
    assert {it["status"] for it in run_of(finished)["pieces"]} == {"failed"}
    assert not (finished / "out" / "studio").exists()
    missed = [it for it in run_of(finished)["findings"] if it["code"].startswith("pdfx-")]
    assert missed
    for it in missed:  # the file that is spoken of is the one that we made
        assert it["in_program"] is None
        assert "'output_profile'" in it["hint"]
    (finished / "press.icc").write_bytes(bytes(profile).replace(b"RGB ", b"CMYK"))
    assert inkaccord("run", finished)[0] == 0
    assert {it["status"] for it in run_of(finished)["pieces"]} == {"ready"}
