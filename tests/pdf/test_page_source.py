"""A file of many pages is read in parts, and gives what it gives as a whole."""

import io
from contextlib import ExitStack

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from artwork_kit import KELP, NEW, OLD, OLD_K, parsed, swaps
from inkaccord.artwork.inventory import areas
from inkaccord.artwork.preflight import ArtworkRules, preflight
from inkaccord.artwork.proof.parts import ProofVerdict
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.pdf import page_source
from inkaccord.pdf.page_source import ChangeablePages, open_pages
from page_kit import changed, finish, saved

PAGES = 5
SWAPS = swaps(f"{OLD} = {NEW}", "spot Kelp = cmyk 10 20 30 40")


@pytest.fixture
def in_twos(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read every file of more than two pages in parts of two."""
    monkeypatch.setattr(page_source, "PAGES_AT_ONCE", 2)


def many(*, handed_on: bool = False) -> bytes:
    """Return pages that share a spot, and lead to one another."""
    with pikepdf.new() as pdf:
        kelp = pdf.make_indirect(parsed(KELP))
        for number in range(PAGES):
            content = OLD_K.decode() + f" 9 9 {number + 1} 9 re f /S cs .5 scn 40 9 9 9 re f"
            finish(pdf, content, {}, ColorSpace=Dictionary(S=kelp))
        for page in pdf.pages:
            dest = Array([pdf.pages[PAGES - 1].obj, Name.Fit])
            page.Annots = Array(
                [Dictionary(Subtype=Name.Link, Rect=Array([0, 0, 9, 9]), Dest=dest, P=page.obj)]
            )
        if handed_on:
            for page in pdf.pages:
                del page.obj["/MediaBox"]
            pdf.Root.Pages.MediaBox = Array([0, 0, 70, 90])
        return saved(pdf)


@pytest.mark.usefixtures("in_twos")
@pytest.mark.parametrize("backwards", [False, True])
def test_pages_come_in_turn_from_an_opening_for_each_part(backwards: bool) -> None:
    with open_pages(many()) as source:
        assert len(source) == PAGES
        met, openings = [], []
        for number, page in source.pages(backwards=backwards):
            assert b" %d 9 re" % number in page.Contents.read_bytes()
            met.append(number)
            if source.pdf not in openings:
                openings.append(source.pdf)
    assert met == sorted(range(1, PAGES + 1), reverse=backwards)
    assert len(openings) == 3


@pytest.mark.usefixtures("in_twos")
def test_what_is_held_can_be_read_later_and_nothing_else() -> None:
    with open_pages(many()) as source:
        streams = []
        for number, page in source.pages():
            streams.append(page.Contents)
            if number == 3:
                source.hold()
        assert b" 3 9 re" in streams[2].read_bytes()
        assert b" 4 9 re" in streams[3].read_bytes()
        with pytest.raises(pikepdf.DeletedObjectError):
            streams[0].read_bytes()


@pytest.mark.usefixtures("in_twos")
def test_pages_that_get_their_size_from_above_are_read_as_a_whole() -> None:
    with open_pages(many(handed_on=True)) as source:
        whole = source.pdf
        boxes = []
        for _, page in source.pages():
            boxes.append(list(map(float, page.mediabox)))
            assert source.pdf is whole
    assert boxes == [[0, 0, 70, 90]] * PAGES


@pytest.mark.usefixtures("in_twos")
def test_some_pages_are_a_small_file_of_their_own() -> None:
    with open_pages(many()) as source:
        some = source.some([2, 4])
        patches = some.pdf.make_indirect(
            Dictionary(Type=Name.Page, MediaBox=Array([0, 0, 9, 9]), Resources=Dictionary())
        )
        some.leave(patches)
        out = io.BytesIO()
        some.pdf.save(out)
    with pikepdf.open(out) as pdf:
        assert len(pdf.pages) == 3
        for page, number in zip(pdf.pages, (2, 4), strict=False):
            assert b" %d 9 re" % number in page.Contents.read_bytes()
        held = [it for it in pdf.objects if isinstance(it, Dictionary)]
        assert sum(it.get("/Type") == "/Page" for it in held) == 3


def test_a_proof_in_parts_says_what_that_of_the_whole_says(monkeypatch: pytest.MonkeyPatch) -> None:
    source = many()
    made = recolour(source, SWAPS).data

    def darken(pdf: pikepdf.Pdf) -> None:
        contents = pdf.pages[3].Contents
        contents.write(contents.read_bytes().replace(b"40 9 9 9 re", b"40 9 9 8 re"))

    copies = made, changed(made, darken)
    whole = [prove(source, copy, SWAPS) for copy in copies]
    monkeypatch.setattr(page_source, "PAGES_AT_ONCE", 2)
    assert [prove(source, copy, SWAPS) for copy in copies] == whole
    assert whole[0].passed
    assert whole[1].structure.verdict is ProofVerdict.FAIL
    assert any("page 4" in it for it in whole[1].structure.details)


@pytest.mark.parametrize("handed_on", [False, True])
def test_pages_measured_and_checked_in_parts_are_those_of_the_whole(
    monkeypatch: pytest.MonkeyPatch, handed_on: bool
) -> None:
    def seen() -> list[tuple[int, bytes, object, tuple[areas.Label, ...]]]:
        maps = areas.colour_maps(many(handed_on=handed_on))
        return [(one.page, one.runs.digest, one.boxes, one.names) for one in maps]

    rules = ArtworkRules(trim=None, bleed_pt=9, safe_pt=9, max_total_ink=10, standard="pdf/x-4")
    monkeypatch.setattr(areas, "PAGES_AT_ONCE", 2)
    whole, found = seen(), preflight(many(handed_on=handed_on), rules)
    monkeypatch.setattr(page_source, "PAGES_AT_ONCE", 2)
    assert [page for page, *_ in whole] == list(range(1, PAGES + 1))
    # Labels are counted on from page to page, so that the last one has all of them.
    assert seen() == whole
    assert len({digest for _, digest, *_ in whole}) == PAGES
    assert preflight(many(handed_on=handed_on), rules) == found
    assert {one.place.page for one in found} >= set(range(1, PAGES + 1))


@pytest.mark.usefixtures("in_twos")
def test_to_change_some_pages_no_others_are_read() -> None:
    with ExitStack() as stack:
        pages = ChangeablePages(many(), stack)
        with pages.after(2, 2) as these:
            assert these.of == PAGES
            assert list(these.some.pages) == [3, 4]
            for number, page in these.some.pages.items():
                assert b" %d 9 re" % number in page.Contents.read_bytes()
                assert page.obj.Resources.ColorSpace.S[1] == "/Kelp"
            # Of the others, to which each page has a link, nothing came along.
            streams = [it for it in these.some.pdf.objects if isinstance(it, pikepdf.Stream)]
            assert len([it for it in streams if b" re f" in it.read_bytes()]) == 2
        with pages.after(4, 2) as these:
            assert list(these.some.pages) == [5]
