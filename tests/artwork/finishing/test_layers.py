"""Taking layers out: only where nothing that prints changes."""

import io
from collections.abc import Callable

import pikepdf
import pytest

from inkaccord.artwork.finishing import layers
from inkaccord.artwork.finishing.layers import flatten_layers
from inkaccord.artwork.proof.likeness import looks_the_same
from inkaccord.errors import FileError
from inkaccord.pdf.layers import Layers
from page_kit import finish, written

Change = Callable[[pikepdf.Pdf, pikepdf.Dictionary], None]
CONTENT = "1 0 0 0 k /OC /L BDC 50 50 60 60 re f EMC /F Do"


def layered(change: Change | None = None, content: str = CONTENT) -> bytes:
    """Return a page with a marked rectangle and a form on one layer."""
    with pikepdf.new() as pdf:
        group = pdf.make_indirect(
            pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=pikepdf.String("Foil"))
        )
        pdf.Root["/OCProperties"] = pikepdf.Dictionary(OCGs=[group], D=pikepdf.Dictionary())
        form = pdf.make_stream(
            b"0 1 0 0 k 5 5 20 20 re f", Subtype=pikepdf.Name.Form, BBox=[0, 0, 90, 90], OC=group
        )
        if change is not None:
            change(pdf, group)
        return finish(
            pdf, content, Properties=pikepdf.Dictionary(L=group), XObject=pikepdf.Dictionary(F=form)
        )


def _off(pdf: pikepdf.Pdf, group: pikepdf.Dictionary) -> None:
    pdf.Root.OCProperties.D["/OFF"] = pikepdf.Array([group])


def _off_in_print(_: pikepdf.Pdf, group: pikepdf.Dictionary) -> None:
    group["/Usage"] = pikepdf.Dictionary(Print=pikepdf.Dictionary(PrintState=pikepdf.Name.OFF))


def _turned_round(pdf: pikepdf.Pdf, group: pikepdf.Dictionary) -> None:
    pdf.Root["/Odd"] = pikepdf.Array(
        [pikepdf.Dictionary(Type=pikepdf.Name.OCMD, OCGs=group, P=pikepdf.Name.AllOff)]
    )


def test_shown_layers_go_and_the_content_stays_byte_for_byte() -> None:
    before = layered()
    after, findings = flatten_layers(before)
    assert after is not None
    assert [it.code for it in findings] == ["layers-flattened"]
    assert "1 layer was" in findings[0].message
    with pikepdf.open(io.BytesIO(after)) as pdf:
        assert "/OCProperties" not in pdf.Root
        assert Layers(pdf).names == {}
        page = pdf.pages[0].obj
        assert page.Contents.read_bytes() == CONTENT.encode()
        assert "/OC" not in page.Resources.XObject.F
    assert looks_the_same(before, after)
    assert flatten_layers(before)[0] == after


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_off, "'Foil' is switched off and would print"),
        (_off_in_print, "by conditions"),
        (_turned_round, "by conditions"),
    ],
)
def test_layers_that_would_change_what_prints_stay(change: Change, words: str) -> None:
    after, findings = flatten_layers(layered(change))
    assert after is None
    assert [it.code for it in findings] == ["layers-kept"]
    assert words in findings[0].message
    if change is _off:
        assert findings[0].place.page == 1
        assert findings[0].place.box_mm is not None


def test_an_empty_hidden_layer_is_no_obstacle() -> None:
    after, findings = flatten_layers(layered(_off, "50 50 60 60 re f"))
    assert after is not None
    assert findings[0].code == "layers-flattened"


@pytest.mark.slow
def test_a_copy_that_looks_different_is_thrown_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(layers, "_obstacle", lambda *_: None)  # as if the obstacle were missed
    after, findings = flatten_layers(layered(_off))
    assert after is None
    assert "look different" in findings[0].message


def test_files_without_layers_and_protected_ones() -> None:
    assert flatten_layers(written("1 g 0 0 9 9 re f")) == (None, ())
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(layered())) as pdf:
        rights = pikepdf.Permissions(modify_other=False)
        pdf.save(out, encryption=pikepdf.Encryption(owner="owner", user="", allow=rights))
    with pytest.raises(FileError, match="does not allow changes"):
        flatten_layers(out.getvalue())
