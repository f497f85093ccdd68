"""Proofs of many copies at once are the proofs of each of them alone."""

from artwork_kit import NEW, OLD, OLD_K, document, swaps
from inkaccord.artwork.proof.parts import ProofVerdict
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.proof.together import prove_together
from inkaccord.artwork.recolouring.recolour import RecolourOptions, recolour
from inkaccord.errors import FileError
from inkaccord.pdf import ink_questions, ink_rendering
from outside import need_program
from page_kit import changed

SWAPS = swaps(f"{OLD} = {NEW}")
GROUND = b" 0 0 80 80 re f 0.1 0 0 0 k "


def copied(content, options=None):
    source = document(content)
    return source, recolour(source, SWAPS).data, SWAPS, options or RecolourOptions()


def unlike(case):
    """The same case, with a square in the copy that nobody asked for."""

    def paint(pdf):
        contents = pdf.pages[0].obj.Contents
        contents.write(bytes(contents.read_bytes()) + b" 0 1 0 0 k 5 5 9 9 re f")

    before, after, *asked = case
    return before, changed(after, paint), *asked


SMALL = [copied(OLD_K + b" 0 0 %d 20 re f" % side) for side in (10, 20, 30)]
CASES = [*SMALL, unlike(SMALL[0]), copied(OLD_K + GROUND), copied(b"0 0 0 1 k 1 1 9 9 re f")]


def test_what_is_drawn_together_is_judged_as_alone_right_and_wrong_ones(monkeypatch):
    need_program("gs", "ghostscript")
    starts = []
    once = ink_rendering.run_ghostscript
    monkeypatch.setattr(
        ink_rendering,
        "run_ghostscript",
        lambda *given, **how: (starts.append(1), once(*given, **how)),
    )
    together = prove_together(CASES)
    assert len(starts) == 1
    assert together == [prove(*case) for case in CASES]
    assert {proof.rendering.verdict for proof in together} == {ProofVerdict.PASS, ProofVerdict.FAIL}


def test_one_that_cannot_be_read_takes_nothing_from_the_others():
    good, (before, _, *asked) = SMALL[0], SMALL[1]
    proofs = prove_together([(before, b"no PDF", *asked), good])
    assert proofs == [None, prove(*good)]


def test_what_cannot_be_drawn_in_a_group_is_drawn_alone(monkeypatch):
    drawn = ink_questions.inks_of_all

    def fails(sources, **how):
        if len(sources) > 2:
            raise FileError.of("took-too-long", "stopped")
        yield from drawn(sources, **how)

    monkeypatch.setattr(ink_questions, "inks_of_all", fails)
    assert prove_together(SMALL) == [prove(*case) for case in SMALL]


def test_copies_are_held_open_up_to_a_number_of_them_and_of_their_bytes(monkeypatch):
    from inkaccord.pdf import ink_questions

    monkeypatch.setattr(ink_questions, "_MOST_HELD", 2)
    assert prove_together(SMALL) == [prove(*case) for case in SMALL]
    monkeypatch.setattr(ink_questions, "_MOST_BYTES", 1)
    assert prove_together(SMALL) == [prove(*case) for case in SMALL]
