"""Files whose structure would have qpdf fill the memory or never end: by count, or tried apart."""

import pytest

from hostile_kit import one_page
from inkaccord.errors import FileError
from inkaccord.pdf import qpdf
from inkaccord.pdf.opening import open_artwork
from structure_kit import OPENED, REFUSED, a_page, in_an_object_stream, with_stream

CODES = {
    "a table of zeros packed twice": "too-big-unpacked",
    "objects packed twice": "too-big-unpacked",
    "a table of 3 million objects": "too-much-drawn",
    "a page tree of 100,000 levels": "not-a-pdf",
    "a page named a million times": "not-a-pdf",
    "an array of 50 million numbers": "took-too-much-memory",
}
LONG = {name for name in REFUSED if "million" in name} - {"a table of 3 million objects"}


@pytest.mark.parametrize(
    "name", [pytest.param(n, marks=[pytest.mark.slow] if n in LONG else []) for n in REFUSED]
)
def test_what_would_fill_the_memory_is_refused_at_the_opening(name: str) -> None:
    with pytest.raises(FileError) as problem, open_artwork(REFUSED[name](), name="art.pdf"):
        pass
    (finding,) = problem.value.findings
    # Of two of them a library may tell the system's limit as a fall.
    assert finding.code in {CODES.get(name, "took-too-much-memory"), "program-fell"}
    assert finding.place.file == "art.pdf"
    assert finding.in_program


@pytest.mark.parametrize("name", OPENED)
def test_what_only_looks_odd_is_opened(name: str) -> None:
    with open_artwork(OPENED[name]()) as pdf:
        assert len(pdf.pages) == 1


@pytest.mark.parametrize(
    "spelt", [b"/XRef", b"/#58R#65f", b"/XRe#66", b"/#58#52#65#66", b"/X#52ef"]
)
def test_only_what_could_hold_more_than_it_shows_is_tried_apart(
    spelt: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried: list[object] = []
    monkeypatch.setattr(qpdf, "answer", lambda *_, **said: tried.append(said) or {"bounded": ""})
    with open_artwork(one_page(b"")):
        assert not tried
    packed = with_stream(a_page()).replace(b"/XRef", spelt)
    for _ in range(2):
        qpdf.try_out(packed)
    assert len(tried) == 1


def test_what_is_said_names_no_place_in_memory() -> None:
    with pytest.raises(FileError) as problem, open_artwork(in_an_object_stream(b"")[:60] + b" obj"):
        pass
    assert "BytesIO" not in str(problem.value)
