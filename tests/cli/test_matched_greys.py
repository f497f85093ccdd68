"""Greys matched on a pair that was read: neutral beside its paper, as LittleCMS sees them printed.

The press is a published profile (Debian's scribus-data), its paper replaced by an ivory one.
"""

import subprocess

import numpy as np
import pikepdf
import pytest

from inkaccord.errors import ExitCode
from outside import SCRIBUS_COATED, need_file, need_program
from recording_kit import fill_in
from run_kit import inkaccord

pytestmark = pytest.mark.slow

IVORY = np.array([91.0, 1.5, 11.0])
WHITE = np.array([96.422, 100.0, 82.521])
GREYS = (24, 64, 96, 128, 160, 192, 224, 240)
ORDER = """
order: greys
date: 2026-11-28
suites: 4
shelf: shelf.sqlite
neutrals: matched
colours:
  kelp: {aim: {lab: [36, -20, 2]}, in_artwork: [rgb 20 92 78]}
stocks:
  ivory: {size: 320mm x 450mm, colour: [91, 1.5, 11]}
vendors:
  shop: {delivers: pieces, marks: false, bleed: 0.125in, devices: {press: {}}}
pieces:
  card: {artwork: card.pdf, trim: 1.75in x 1.75in, device: press, stock: ivory}
  plain: {artwork: card.pdf, trim: 1.75in x 1.75in, device: press, stock: ivory, neutrals: black}
tolerances: {between_pieces: 10, to_aim: 10}
release: regardless
"""


def lab_of(xyz):
    """Return CIELAB, D50 (CIE 15), written out here, so that the check is not ours alone."""
    f = np.where(
        xyz / WHITE > (6 / 29) ** 3, np.cbrt(xyz / WHITE), xyz / WHITE * 841 / 108 + 4 / 29
    )
    return np.column_stack(
        [116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])]
    )


def xyz_of(lab):
    """Return XYZ of CIELAB (CIE 15), likewise."""
    lightness = (lab[:, 0] + 16) / 116
    f = np.column_stack([lightness + lab[:, 1] / 500, lightness, lightness - lab[:, 2] / 200])
    return WHITE * np.where(f > 6 / 29, f**3, (f - 4 / 29) * 108 / 841)


def beside_paper(builds):
    """Return CIELAB of builds beside their paper: the profile's relative colorimetric look."""
    profile = need_file(SCRIBUS_COATED, "scribus-data")
    text = "".join(" ".join(f"{ink:.4f}" for ink in build) + "\n" for build in builds)
    said = subprocess.run(
        [need_program("transicc", "liblcms2-utils"), "-n", "-t1", "-c0", f"-i{profile}", "-o*Lab4"],
        input=text, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return np.array([line.split()[:3] for line in said.stdout.splitlines() if line.strip()], float)


def on_ivory(builds):
    """Return what an instrument reads of builds on the ivory paper."""
    return lab_of(xyz_of(beside_paper(builds)) * xyz_of(IVORY[None]) / WHITE)


@pytest.fixture(scope="module")
def delivered(tmp_path_factory):
    home = tmp_path_factory.mktemp("greys")
    (home / "order.yaml").write_text(ORDER, "utf-8")
    content = "".join(
        f"{grey / 255:.6f} {grey / 255:.6f} {grey / 255:.6f} rg {14 * at} 60 14 30 re f\n"
        for at, grey in enumerate(GREYS)
    )
    content += "0 0 0 rg 90 100 30 20 re f 0.078431 0.360784 0.305882 rg 0 0 144 40 re f"
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(144, 144))
        page.TrimBox, page.BleedBox = [9, 9, 135, 135], [0, 0, 144, 144]
        page.Contents = pdf.make_stream(content.encode())
        pdf.save(home / "card.pdf")
    assert inkaccord("run", home)[0] == ExitCode.WAITING
    for _ in range(2):
        for table in sorted((home / "out" / "samples").glob("*.txt")):
            fill_in(table, home / f"read-{table.name}", on_ivory)
            inkaccord("record", table.stem, home / f"read-{table.name}", "--order", home)
        if inkaccord("run", home)[0] == ExitCode.DONE:
            break
    return home / "out" / "shop"


def builds_in(path):
    with pikepdf.open(path) as pdf:
        form = pdf.pages[0].Resources.XObject.P0
        return np.array(
            [
                [100 * float(ink) for ink in inks]
                for inks, operator in pikepdf.parse_content_stream(form)
                if str(operator) == "k"
            ]
        )


def test_matched_greys_are_neutral_beside_their_paper_and_as_light_as_on_a_screen(delivered):
    builds = builds_in(delivered / "greys-card.pdf")
    seen = beside_paper(builds[: len(GREYS)])
    black = beside_paper([[0, 0, 0, 100]])[0]
    assert np.hypot(seen[:, 1], seen[:, 2]).max() < 1.0
    # Between black ink and paper in light, as sRGB (IEC 61966-2-1) is between black and white.
    light = np.array([((g / 255 + 0.055) / 1.055) ** 2.4 for g in GREYS])
    dark = xyz_of(black[None])[0, 1] / 100
    wanted = lab_of(WHITE * (dark + (1 - dark) * light)[:, None])
    assert np.abs(seen[:, 0] - wanted[:, 0]).max() < 1.0
    assert builds[len(GREYS)] == pytest.approx([0, 0, 0, 100])


def test_a_piece_has_neutrals_of_its_own(delivered):
    builds = builds_in(delivered / "greys-plain.pdf")
    wanted = [[0, 0, 0, 100 * (1 - grey / 255)] for grey in (*GREYS, 0)]
    assert builds[: len(wanted)] == pytest.approx(np.array(wanted), abs=0.01)
