"""Artwork that is signed, and artwork that can't be opened as it stands, in orders and by hand."""

import io
import re

import pikepdf
import pytest

from artwork_kit import OLD, document
from inkaccord.errors import ExitCode
from run_kit import inkaccord, record_all, run_of, tags_order

ORDER = tags_order(
    "cmyk 85 20 60 30",
    "tag: {artwork: tag.pdf, trim: 36mm x 36mm, device: press, stock: card}",
)


def tag(form=None, **packing):
    """Return a piece of 36 mm with 3 mm bleed, with a form of fields if one is given."""
    with pikepdf.open(io.BytesIO(document(b"0.85 0.2 0.6 0.3 k 0 0 120 120 re f"))) as pdf:
        page = pdf.pages[0].obj
        page.MediaBox = page.BleedBox = pikepdf.Array([0, 0, 119.055, 119.055])
        page.TrimBox = pikepdf.Array([8.504, 8.504, 110.551, 110.551])
        if form is not None:
            pdf.Root.AcroForm = pdf.make_indirect(pikepdf.Object.parse(form.encode()))
        out = io.BytesIO()
        pdf.save(out, deterministic_id=True, **packing)
        return out.getvalue()


def signed_tag():
    """Return the piece as someone has signed it."""
    field = "<< /FT /Sig /T (S) /V << /Type /Sig /ByteRange [0 1 2 3] >> >>"
    return tag(f"<< /SigFlags 3 /Fields [{field}] >>")


def damaged_tag():
    """Return the piece with objects that nothing finds any more."""
    whole = tag(object_stream_mode=pikepdf.ObjectStreamMode.disable)
    return re.sub(rb"(?m)^(\d+) 0 obj", rb"\1 1 obj", whole)


@pytest.mark.slow
def test_an_order_asks_before_anything_is_printed_for_a_signed_piece(tmp_path):
    (tmp_path / "tag.pdf").write_bytes(signed_tag())
    path = tmp_path / "order.yaml"
    path.write_text(ORDER, "utf-8")
    for command in ("check", "run"):
        code, _, err = inkaccord(command, tmp_path)
        assert code == ExitCode.FILES
        assert 'pieces.tag.waive.signed-file: "why it may go"' in " ".join(err.split())
    assert not (tmp_path / "out").exists()
    waived = ORDER.replace("card}\nrelease", "card, waive: {signed-file: fine}}\nrelease")
    path.write_text(waived, "utf-8")
    inkaccord("run", tmp_path)
    record_all(tmp_path)
    assert inkaccord("run", tmp_path)[0] == ExitCode.DONE
    assert run_of(tmp_path)["pieces"][0]["status"] == "ready"


def test_by_hand_a_signature_is_broken_only_on_demand(tmp_path):
    (tmp_path / "tag.pdf").write_bytes(signed_tag())
    words = (
        "recolour",
        tmp_path / "tag.pdf",
        tmp_path / "new.pdf",
        "--swap",
        f"{OLD} = cmyk 1 2 3 4",
    )
    code, out, _ = inkaccord(*words)
    assert code == ExitCode.DISAGREE
    assert "--break-signature" in out
    assert not (tmp_path / "new.pdf").exists()
    assert inkaccord(*words, "--break-signature")[0] == ExitCode.DONE
    assert (tmp_path / "new.pdf").exists()


@pytest.mark.slow
def test_a_whole_order_of_a_damaged_file_is_made_and_the_file_stays_as_it_was(tmp_path):
    source = damaged_tag()
    (tmp_path / "tag.pdf").write_bytes(source)
    (tmp_path / "order.yaml").write_text(ORDER, "utf-8")
    inkaccord("run", tmp_path)  # the first run draws an artwork letter, too
    assert not [it for it in run_of(tmp_path)["findings"] if it["severity"] == "error"]
    record_all(tmp_path)
    code, out, _ = inkaccord("run", tmp_path)
    assert code == ExitCode.DONE
    assert "written anew" in " ".join(out.split())
    (piece,) = run_of(tmp_path)["pieces"]
    assert piece["status"] == "ready"
    assert (tmp_path / "tag.pdf").read_bytes() == source
