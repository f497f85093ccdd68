"""Make the README's pictures from a real run of the example: ``python docs/make_pictures.py``."""

import io
import shutil
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image

from inkaccord.builtin import PLUGINS
from inkaccord.order.loading import load_order
from inkaccord.pipeline import run_order
from inkaccord.plugins import load_plugins
from inkaccord.report.gallery import Gallery, Shown
from inkaccord.shelf.store import Shelf
from inkaccord.stages.bench import Bench

ROOT = Path(__file__).parents[1]
PICTURES = Path(__file__).parent / "pictures"
GROUND = (222, 220, 214)
GAP = 28


def pages_of(path: Path, dpi: int) -> list[Image.Image]:
    with pypdfium2.PdfDocument(path) as pdf:
        return [page.render(scale=dpi / 72).to_pil().convert("RGB") for page in pdf]


def page_of(path: Path, dpi: int) -> Image.Image:
    return pages_of(path, dpi)[0]


def first_page(shown: Shown) -> Image.Image:
    return Image.open(io.BytesIO(shown.pages[0].png)).convert("RGB")


def row(pictures: list[Image.Image]) -> Image.Image:
    width = sum(it.width for it in pictures) + GAP * (len(pictures) + 1)
    height = max(it.height for it in pictures) + 2 * GAP
    sheet = Image.new("RGB", (width, height), GROUND)
    left = GAP
    for it in pictures:
        sheet.paste(it, (left, (height - it.height) // 2))
        left += it.width + GAP
    return sheet


def stacked(rows: list[Image.Image]) -> Image.Image:
    sheet = Image.new("RGB", (max(it.width for it in rows), sum(it.height for it in rows)), GROUND)
    top = 0
    for it in rows:
        sheet.paste(it, (0, top))
        top += it.height
    return sheet


def save(picture: Image.Image, name: str) -> None:
    PICTURES.mkdir(exist_ok=True)
    small = picture.quantize(192, dither=Image.Dither.NONE)
    small.save(PICTURES / name, optimize=True)
    print(f"wrote docs/pictures/{name}, {picture.width} × {picture.height}")


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        room = Path(name) / "example"
        shutil.copytree(ROOT / "jobs_example", room, ignore=shutil.ignore_patterns("out"))
        plugins = load_plugins(built_in=PLUGINS)
        for order in ("members_evening", "first_order"):
            loaded = load_order(room / order / "order.yaml", plugins.vendor_kinds())
            out = room / order / "out"
            with Shelf.open(room / order / "pictures.sqlite") as shelf:
                run = run_order(loaded, out=out, shelf=shelf, plugins=plugins)
                if order == "first_order":
                    save(page_of(out / run.samples[0].path, 110), "sample.png")
                    continue
                bench = Bench(loaded=loaded, out=out, shelf=shelf, plugins=plugins)
                gallery = Gallery(loaded.order, run, bench)
                pieces = list(loaded.order.pieces)
                before = [first_page(gallery.original(piece, 330)) for piece in pieces]
                after = [first_page(gallery.translated(piece, 330)) for piece in pieces]
                save(stacked([row(before), row(after)]), "suite.png")
                save(row(pages_of(out / "agreement.pdf", 72)), "agreement.png")
                file = next(
                    it for it in run.files if it.what == "print" and "invitation" in it.pieces
                )
                save(row([page_of(out / file.path, 50)]), "sheet.png")


if __name__ == "__main__":
    main()
