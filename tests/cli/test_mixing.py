"""Pieces on whose pages everything is to be converted to RGB before it is printed in CMYK."""

import pikepdf
import pytest

from inkaccord.errors import ExitCode
from outside import plates
from pdf_words import words_of
from run_kit import inkaccord, record_all, run_of, tags_order

pytestmark = pytest.mark.slow

ORDER = tags_order(
    "cmyk 60 20 50 10",
    "tag: {artwork: tag.pdf, trim: 5in x 7in, device: press, stock: card}",
    "map: {artwork: map.pdf, trim: 5in x 7in, device: press, stock: card}",
)
WAIVE = 'pieces.map.waive.mixed-in-rgb: "the sky may print as it likes"\n'
KELP = b"0.6 0.2 0.5 0.1 k 40 40 200 200 re f "
SKY = b"q /Screen gs 0.4 0.05 0 0 k 100 200 200 60 re f Q"


def draw(path, content):
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(378, 522))
        page.MediaBox, page.TrimBox = [0, 0, 378, 522], [9, 9, 369, 513]
        page.BleedBox = page.MediaBox
        page.Group = pikepdf.Dictionary(
            S=pikepdf.Name.Transparency, I=True, CS=pikepdf.Name.DeviceRGB
        )
        page.Resources = pikepdf.Dictionary(
            ExtGState=pikepdf.Dictionary(Screen=pikepdf.Dictionary(BM=pikepdf.Name.Screen))
        )
        page.Contents = pdf.make_stream(content)
        pdf.save(path)


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    home = tmp_path_factory.mktemp("mixing")
    (home / "order.yaml").write_text(ORDER, "utf-8")
    draw(home / "tag.pdf", KELP)
    draw(home / "map.pdf", KELP + SKY)
    return home


def test_check_and_the_first_run_foresee_it_before_a_sheet_is_printed(home):
    code, _, checked = inkaccord("check", home)
    assert code == ExitCode.DISAGREE
    assert "its inks can't be known" in " ".join(checked.split())
    assert "do without opacity" in " ".join(checked.split())
    assert inkaccord("run", home)[0] == ExitCode.DISAGREE
    tag, map_ = run_of(home)["pieces"]
    assert (tag["status"], map_["status"]) == ("waiting", "failed")
    assert (tag["inks_known"], map_["inks_known"]) == (True, False)
    (said,) = [it for it in run_of(home)["findings"] if it["code"] == "mixed-in-rgb"]
    assert said["place"]["field"] == "pieces.map.artwork"
    assert said["place"]["page"] == 1
    record_all(home)


def test_a_piece_prints_its_build_or_is_held_and_every_paper_says_so(home, tmp_path):
    assert inkaccord("run", home)[0] == ExitCode.DISAGREE
    run = run_of(home)
    tag, map_ = run["pieces"]
    assert (tag["status"], map_["status"]) == ("ready", "failed")
    assert "can't be known" in map_["why"]
    build = [float(ink) for ink in run["translations"][0]["build"].split()[1:]]
    plate = plates((home / "out" / "studio" / "tags-tag.pdf").read_bytes(), tmp_path)
    printed = [plate[ink][400, 120] for ink in ("Cyan", "Magenta", "Yellow", "Black")]
    assert printed == pytest.approx(build, abs=0.3)
    assert "mixing-mended" in {it["code"] for it in run["findings"]}
    told = words_of((home / "out" / "agreement.pdf").read_bytes())
    assert "map: failed, what it prints in can't be known" in told
    assert "Not known in which inks map prints" in told
    assert {it["piece"] for it in run["agreement"]} == {"tag"}


def test_a_person_may_let_it_be_and_the_papers_say_that(home):
    (home / "order.yaml").write_text(ORDER + WAIVE, "utf-8")
    code, said, _ = inkaccord("run", home)
    assert code == ExitCode.DONE, said
    assert [it["status"] for it in run_of(home)["pieces"]] == ["ready", "ready"]
    agreement = words_of((home / "out" / "agreement.pdf").read_bytes())
    assert agreement.count("Not known in which inks map prints") == 2
    run = run_of(home)
    assert {it["piece"] for it in run["agreement"]} == {"tag"}
    page = (home / "out" / "report.html").read_text("utf-8")
    assert "Not known in which inks map prints" in page
    assert "or its inks are not known" in page
    assert "the sky may print as it likes" in agreement
    (sheet,) = (home / "out" / "studio").glob("*order*.pdf")
    words = words_of(sheet.read_bytes())
    assert "the sky may print as it likes" in words
    assert "Not known in which inks map prints" in words
