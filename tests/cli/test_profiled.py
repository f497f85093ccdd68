"""Artwork whose colours a layout program tagged with a profile: as they are, or plain."""

import re

import pikepdf
import pytest

from inkaccord.errors import ExitCode
from outside import KRITA_CMYK, need_file, plates
from run_kit import inkaccord, record_all, run_of, tags_order

pytestmark = pytest.mark.slow

ORDER = tags_order(
    "cmyk 60 20 50 10",
    "tag: {artwork: tag.pdf, trim: 5in x 7in, device: press, stock: card, profiled: plain}",
)
CONTENT = b"""
/Tagged cs 0.6 0.2 0.5 0.1 sc 40 40 200 200 re f
0.3 0.1 0.25 0.05 sc 40 260 200 60 re f
0 0 0 1 sc 40 340 200 20 re f
0.1 0.9 0.1 0 sc 40 380 200 20 re f
"""


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    home = tmp_path_factory.mktemp("tagged")
    (home / "order.yaml").write_text(ORDER, "utf-8")
    with pikepdf.new() as pdf:
        profile = pdf.make_stream(need_file(KRITA_CMYK, "krita-data").read_bytes(), N=4)
        page = pdf.add_blank_page(page_size=(378, 522))
        page.MediaBox, page.TrimBox = [0, 0, 378, 522], [9, 9, 369, 513]
        page.BleedBox = page.MediaBox
        page.Resources = pikepdf.Dictionary(
            ColorSpace=pikepdf.Dictionary(
                Tagged=pikepdf.Array([pikepdf.Name.ICCBased, pdf.make_indirect(profile)])
            )
        )
        page.Contents = pdf.make_stream(CONTENT)
        pdf.save(home / "tag.pdf")
    return home


def painted(path):
    """Return the fills that a laid piece's content holds, by pikepdf's own parser."""
    with pikepdf.open(path) as pdf:
        form = pdf.pages[0].Resources.XObject.P0
        return [
            (str(operator), [float(it) for it in operands])
            for operands, operator in pikepdf.parse_content_stream(form)
            if str(operator) in {"k", "g", "rg", "cs", "sc", "scn"}
        ]


def test_as_profiled_what_the_order_does_not_name_is_told_with_ways_out(home, tmp_path):
    path = tmp_path / "order.yaml"
    path.write_text(ORDER.replace(", profiled: plain", ""), "utf-8")
    (tmp_path / "tag.pdf").write_bytes((home / "tag.pdf").read_bytes())
    _, out, _ = inkaccord("run", tmp_path)
    said = " ".join(out.split())
    assert "cmyk 60 20 50 10 through" not in said
    assert "cmyk 10 90 10 0 through" in said
    (look,) = set(re.findall(r"'(lab [-0-9. ]+)'", said))
    assert "'profiled: plain'" in said
    path.write_text(path.read_text("utf-8") + f"keep: [{look}]\n", "utf-8")
    assert "unknown-colour" not in inkaccord("run", tmp_path)[1]


def test_as_profiled_brand_colours_tints_and_black_are_translated(home, tmp_path):
    (tmp_path / "order.yaml").write_text(ORDER.replace(", profiled: plain", ""), "utf-8")
    with pikepdf.open(home / "tag.pdf") as pdf:
        pdf.pages[0].Contents = pdf.make_stream(CONTENT.partition(b"0.1 0.9")[0])
        pdf.save(tmp_path / "tag.pdf")
    assert inkaccord("run", tmp_path)[0] == ExitCode.WAITING
    record_all(tmp_path)
    assert inkaccord("run", tmp_path)[0] == ExitCode.DONE
    run = run_of(tmp_path)
    (told,) = run["translations"]
    fills = painted(tmp_path / "out" / "studio" / "tags-tag.pdf")
    solid, half, type_ = [inks for operator, inks in fills if operator == "k"][-3:]
    build = [float(ink) / 100 for ink in told["build"].split()[1:]]
    (tint,) = (it["build"].split()[1:] for it in told["tints"] if it["tint"] == 50)
    assert solid == pytest.approx(build)
    assert half == pytest.approx([float(ink) / 100 for ink in tint])
    assert type_ == [0, 0, 0, 1]


def test_plain_every_colour_is_plain_and_the_brand_colour_is_translated(home):
    assert inkaccord("run", home)[0] == ExitCode.WAITING
    record_all(home)
    assert inkaccord("run", home)[0] == ExitCode.DONE
    run = run_of(home)
    assert run["pieces"][0]["colours"] == ["kelp"]
    assert run["pieces"][0]["status"] == "ready"
    assert all(": pass" in line for line in run["pieces"][0]["proof"])
    fills = painted(home / "out" / "studio" / "tags-tag.pdf")
    assert {operator for operator, _ in fills} == {"k"}
    black, solid, half, type_, other = [inks for _, inks in fills]
    assert black == [0, 0, 0, 1]  # where the tagged space was chosen: its first colour
    (told,) = run["translations"]
    (tint,) = (it["build"].split()[1:] for it in told["tints"] if it["tint"] == 50)
    build = told["build"].split()[1:]
    assert solid == pytest.approx([float(ink) / 100 for ink in build])
    assert half == pytest.approx([float(ink) / 100 for ink in tint])
    assert type_ == [0, 0, 0, 1]
    assert other == pytest.approx([0.1, 0.9, 0.1, 0])


def test_the_order_says_it_for_all_pieces_and_the_old_word_is_explained(home, tmp_path):
    (tmp_path / "tag.pdf").write_bytes((home / "tag.pdf").read_bytes())
    path = tmp_path / "order.yaml"
    alone = ORDER.replace(", profiled: plain", "")
    path.write_text(alone.replace("suites: 10", "suites: 10\nprofiled: by-numbers"), "utf-8")
    code, out, err = inkaccord("check", tmp_path)
    assert code == ExitCode.WRONG
    assert "'by-numbers' is written 'plain' now" in " ".join((out + err).split())
    path.write_text(alone.replace("suites: 10", "suites: 10\nphotographs: translate"), "utf-8")
    code, out, err = inkaccord("check", tmp_path)
    assert code == ExitCode.WRONG
    assert "'translate' is written 'matched' now" in " ".join((out + err).split())
    path.write_text(alone.replace("suites: 10", "suites: 10\nprofiled: plain"), "utf-8")
    assert not re.search(r"[0-9] through ", inkaccord("run", tmp_path)[1])


def test_by_hand_either_answer_and_what_each_colour_is(home, tmp_path):
    (tmp_path / "order.yaml").write_text(ORDER.replace(", profiled: plain", ""), "utf-8")
    (tmp_path / "tag.pdf").write_bytes((home / "tag.pdf").read_bytes())
    code, out, _ = inkaccord("colours", tmp_path / "tag.pdf", "--order", tmp_path)
    assert code == ExitCode.DONE
    assert "lab " in out
    assert "kelp 50 %" in out
    code, out, _ = inkaccord("colours", tmp_path / "tag.pdf", "--profiled", "plain")
    assert "lab " not in out
    assert "through" not in out
    swap = ("--swap", "cmyk 60 20 50 10 = cmyk 10 20 30 40")
    for profiled in ("as-profiled", "plain"):
        made = tmp_path / f"{profiled}.pdf"
        said = inkaccord("recolour", home / "tag.pdf", made, *swap, "--profiled", profiled)
        assert said[0] == ExitCode.DONE, said
        assert ("have no profile any more" in said[1]) is (profiled == "plain")
    with pikepdf.open(made) as pdf:
        set_as = [str(it.operator) for it in pikepdf.parse_content_stream(pdf.pages[0])]
    assert "sc" not in set_as
    found = plates(made.read_bytes(), tmp_path)
    row, column = 522 - 390, 100  # the last bar, which no swap names
    inks = [found[it][row, column] for it in ("Cyan", "Magenta", "Yellow", "Black")]
    assert inks == pytest.approx([10, 90, 10, 0], abs=1.0)


def test_black_ink_is_no_answer_for_builds_in_rgb(home, tmp_path):
    swap = ("--swap", "cmyk 60 20 50 10 = rgb 10 20 30", "--neutrals", "black")
    code, out, err = inkaccord("recolour", home / "tag.pdf", tmp_path / "made.pdf", *swap)
    assert code == ExitCode.WRONG
    assert "device in RGB gets black, greys and white as they are" in " ".join((out + err).split())
