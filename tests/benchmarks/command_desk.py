"""The same orders through the command line, artwork and all: does the short way tell the truth?"""

import subprocess
import sys
import tempfile
from pathlib import Path
from types import SimpleNamespace

from drawn_orders import draw_order
from order_desk import Desk

from inkaccord.colour.paints import Paint
from inkaccord.drawing.canvas import Drawing
from inkaccord.out_folder import OutFolder
from inkaccord.run.record import PieceStatus
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sizes import Size
from inkaccord.units import inches

COMMAND = Path(sys.executable).parent / "inkaccord"
COMPARED = ("ended", "rounds", "sheets", "pages", "swatches", "questions", "ready")


def draw_artwork(piece, paints):
    """Return a PDF of stripes, each colour's narrower than the last."""
    size, bleed = Size.parse(piece["trim"]), inches(1 / 8)
    media = Size(width_pt=size.width_pt + 2 * bleed, height_pt=size.height_pt + 2 * bleed)
    drawing = Drawing(media, title="stripes")
    box = (bleed, bleed, bleed + size.width_pt, bleed + size.height_pt)
    drawing.page(media, trim_pt=box, bleed_pt=bleed)
    left = 0.0
    for place, paint in enumerate(paints):
        drawing.canvas.setFillColorCMYK(*(value / 100 for value in paint.values))
        drawing.canvas.rect(left, 0, media.width_pt / 2 ** (place + 1), media.height_pt, 0, 1)
        left += media.width_pt / 2 ** (place + 1)
    return drawing.bytes()


class CommandDesk(Desk):
    """A desk where every run and every recording is a command."""

    def __init__(self, drawn, folder):
        super().__init__(drawn, folder)
        self.person.shelf = self
        for name, piece in drawn.data["pieces"].items():
            written = [drawn.data["colours"][it]["in_artwork"][0] for it in drawn.carries[name]]
            art = draw_artwork(piece, [Paint.parse(it) for it in written])
            (folder / piece["artwork"]).write_bytes(art)

    def run(self, data, _collected, lines=()):
        self._command("run", self.write_order(data, lines))
        run = OutFolder(self.folder / "out").previous
        sheets = [SimpleNamespace(sheet=self.shelf.sheet(it.id)) for it in run.samples]
        self.plan = SimpleNamespace(sheets=sheets, steps=run.next)
        self.standings = {it.name: it for it in run.pieces}

    def record_readings(self, taken):
        path = self.folder / f"{taken.sheet}.txt"
        path.write_text(write_cgats(self.shelf.sheet(taken.sheet), taken), "utf-8")
        self._command("record", taken.sheet, path)

    def record_picks(self, picks):
        for it in picks:
            pick = f"{it.colour}={it.swatch}"
            options = ["--sure", f"{it.sure:.6f}", "--on", str(it.picked_on)]
            self._command("record", it.sheet, "--pick", pick, *options)

    def _command(self, *words):
        shelf = ("--shelf", self.shelf.place)
        done = subprocess.run(
            [COMMAND, *words, *shelf], capture_output=True, text=True, check=False
        )
        if done.returncode not in {0, 3, 4}:
            raise SystemExit(f"{words}: {done.returncode}\n{done.stdout}{done.stderr}")

    def _judge(self):
        return SimpleNamespace(is_needless=lambda _question: False)  # the short way judges

    def _counted(self, rounds, why):
        ready = sum(it.status is PieceStatus.READY for it in self.standings.values())
        return self._spent(rounds) | {"ended": self.all_ready, "ready": ready, "why": why}


def compare(numbers):
    """Play orders both ways; yield the two rows of each, the short way's first."""
    for number in numbers:
        rows = []
        for kind in (Desk, CommandDesk):
            with tempfile.TemporaryDirectory() as folder:
                desk = kind(draw_order(number), Path(folder))
                with desk.shelf:
                    rows.append(desk.play())
        yield rows
