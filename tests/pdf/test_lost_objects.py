"""Objects that a file needs, and that stand in it without a line in its table: held."""

import io
import re

import pikepdf
import pytest

from artwork_kit import OLD, OLD_K, codes, document, swaps
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.preflight.run import preflight
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.errors import FileError
from inkaccord.pdf import lost_objects as module
from inkaccord.pdf import page_source
from inkaccord.pdf.lost_objects import lost_objects
from structure_kit import a_page, stream, with_stream, with_table

FORM = stream(b"/Type /XObject /Subtype /Form /BBox [0 0 200 200]", OLD_K + b" 0 0 90 90 re f")
DRAWS = {4: stream(b"", b"/I Do"), 5: FORM}
PACKED = stream(b"/Type /ObjStm /N 1 /First 4", b"6 0 << /S /Transparency /CS /DeviceCMYK >>")
USES_PACKED = b"/Group 6 0 R"
WHOLE = with_table(a_page(DRAWS))
PACKING = with_table(a_page({**DRAWS, 6: b"null", 7: PACKED}, USES_PACKED))
_LINE = re.compile(rb"\d{10} (\d{5}) ([nf]) \n")


def _freed(data: bytes, *numbers: int) -> bytes:
    """Return a file whose table calls some objects free."""
    lines = list(_LINE.finditer(data))
    for number in numbers:
        at = lines[number].start(2)
        data = data[:at] + b"f" + data[at + 1 :]
    return data


def _of_another_generation(data: bytes, number: int) -> bytes:
    at = list(_LINE.finditer(data))[number].start(1)
    return data[:at] + b"00001" + data[at + 5 :]


def _updated(lines: bytes, objects: bytes = b"", entries: bytes = b"") -> bytes:
    """Return a file with a section more in its table (7.5.6)."""
    data = _freed(PACKING, 6)
    before = int(data.rsplit(b"startxref\n", 1)[1].split()[0])
    start = len(data + objects)
    trailer = b"trailer << /Size 9 /Root 1 0 R /Prev %d %s >>\n" % (before, entries)
    return data + objects + b"xref\n%s%sstartxref\n%d\n%%%%EOF\n" % (lines, trailer, start)


def _hybrid(lines: bytes) -> bytes:
    """Return a file whose table is two: one that old readers know, one for packed objects."""
    row = stream(b"/Type /XRef /Size 9 /Root 1 0 R /W [1 2 1] /Index [6 1]", b"\2\0\7\0")
    place = len(_freed(PACKING, 6))
    return _updated(lines, b"8 0 obj\n" + row + b"\nendobj\n", b"/XRefStm %d" % place)


FREE_5 = b"5 1\n0000000000 00001 f \n"
LOST = {
    "free": _freed(WHOLE, 5),
    "free, of a later generation": _freed(_of_another_generation(WHOLE, 5), 5),
    "of another generation": _of_another_generation(WHOLE, 5),
    "behind the table's end": re.sub(
        rb"xref\n0 6\n((?s:.*))\d{10} 00000 n \ntr", rb"xref\n0 5\n\1tr", WHOLE
    ),
    "what a page draws": _freed(WHOLE, 4),
    "of a hybrid file": _hybrid(FREE_5),
    "packed": with_stream(a_page({**DRAWS, 7: PACKED}, USES_PACKED)),
    "packed in what is lost": _freed(PACKING, 6, 7),
    "behind other bytes": b"\n \n" + _freed(WHOLE, 5),
}  # fmt: skip


@pytest.mark.parametrize("data", LOST.values(), ids=LOST)
def test_what_readers_search_for_holds_the_piece(data: bytes) -> None:
    (lost,) = lost_objects(data)
    result = recolour(data, swaps(f"{OLD} = cmyk 78 12 55 41"))
    (said,) = [one for one in result.errors if one.code == "lost-object"]
    assert f"object {lost.number} is needed" in said.message
    assert said.place.page == 1


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(WHOLE, id="whole"),
        pytest.param(_hybrid(b"0 0\n"), id="hybrid"),
        pytest.param(
            with_stream(a_page({**DRAWS, 7: PACKED}, USES_PACKED), {6: (7, 0)}), id="packed"
        ),
        pytest.param(_freed(with_table(a_page({**DRAWS, 6: FORM})), 6), id="nobody needs it"),
        pytest.param(
            _freed(with_table(a_page({**DRAWS, 6: FORM}, b"/PieceInfo << /A 6 0 R >>")), 6),
            id="nothing is printed with it",
        ),
        pytest.param(with_table(a_page(DRAWS, b"/Group 9 0 R")), id="nowhere at all"),
        pytest.param(_freed(with_table(a_page({**DRAWS, 6: b"null"}, USES_PACKED)), 6), id="null"),
    ],
)  # fmt: skip
def test_what_all_readers_see_alike_is_left_alone(data: bytes) -> None:
    assert not lost_objects(data)
    assert "lost-object" not in codes(recolour(data, swaps(f"{OLD} = cmyk 78 12 55 41")))


def test_an_encrypted_file_is_looked_through() -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(PACKING)) as pdf:
        pdf.save(
            out,
            encryption=pikepdf.Encryption(owner="quay"),
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
        )
    data = out.getvalue()
    assert not lost_objects(data)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        number = pdf.pages[0].obj.Resources.XObject.I.objgen[0]
    assert [one.number for one in lost_objects(_freed(data, number))] == [number]


def test_more_strays_than_any_program_leaves_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_MOST_STRAYS", 1)
    data = _freed(with_table(a_page({**DRAWS, 6: FORM, 7: FORM})), 6, 7)
    with pytest.raises(FileError, match="2 objects that its table does not lead to"):
        lost_objects(data)


def test_a_file_of_many_pages_is_checked_as_a_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(page_source, "PAGES_AT_ONCE", 1)

    def found(data: bytes) -> list[int | None]:
        said = preflight(data, ArtworkRules())
        return [one.place.page for one in said if one.code == "lost-object"]

    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(document(OLD_K))) as pdf:
        pdf.pages.append(pdf.pages[0])
        pdf.pages[1].Contents = pdf.make_stream(OLD_K + b" 0 0 9 9 re f")
        pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    data = out.getvalue()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        second = pdf.pages[1].obj
        lost = [second.objgen[0], second.Contents.objgen[0]]
    assert found(data) == []
    assert [found(_freed(data, one)) for one in lost] == [[2], [2]]


def test_a_file_that_opens_without_a_word_is_not_held_twice(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "_known", {})
    monkeypatch.setattr(module, "opened", pytest.fail)  # it looks at all pages once more
    assert "lost-object" not in codes(recolour(WHOLE, swaps(f"{OLD} = cmyk 78 12 55 41")))


def test_of_a_table_that_was_mended_the_mended_one_counts() -> None:
    row = list(_LINE.finditer(WHOLE))[3].start()
    data = _freed(WHOLE[:row] + b"0000000001" + WHOLE[row + 10 :], 5)  # nothing stands there
    said = codes(recolour(data, swaps(f"{OLD} = cmyk 78 12 55 41")))
    assert "damaged-file" in said
    assert "lost-object" not in said
