"""Make the pictures of the README and of the first afternoon from real runs.

``python docs/make_pictures.py``; the report is photographed in Chromium, which must be installed.
"""

import io
import json
import shutil
import subprocess
import tempfile
from pathlib import Path

import pypdfium2
from first_afternoon import ORDER, PAGE, play
from PIL import Image, ImageDraw

from inkaccord.builtin import PLUGINS
from inkaccord.knowledge.holdings import gather
from inkaccord.order.loading import load_order
from inkaccord.plugins import load_plugins
from inkaccord.report.gallery import OrderGallery
from inkaccord.run.gallery import Shown
from inkaccord.runs import run_order
from inkaccord.shelf.store import Shelf
from inkaccord.workbench import Workbench

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
    for picture in pictures:
        sheet.paste(picture, (left, (height - picture.height) // 2))
        left += picture.width + GAP
    return sheet


def stacked(rows: list[Image.Image]) -> Image.Image:
    sheet = Image.new("RGB", (max(it.width for it in rows), sum(it.height for it in rows)), GROUND)
    top = 0
    for row in rows:
        sheet.paste(row, (0, top))
        top += row.height
    return sheet


def save(picture: Image.Image, name: str) -> None:
    PICTURES.mkdir(exist_ok=True)
    small = picture.quantize(192, dither=Image.Dither.NONE)
    small.save(PICTURES / name, optimize=True)
    print(f"wrote docs/pictures/{name}, {picture.width} × {picture.height}")


def photograph(page: Path, width: int, height: int) -> Image.Image:
    """Return the top of an HTML page as a browser shows it."""
    with tempfile.TemporaryDirectory() as name:
        target = Path(name) / "page.png"
        subprocess.run(
            ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
             "--disable-background-networking", f"--user-data-dir={name}/user",
             f"--window-size={width},{height}", f"--screenshot={target}", page.as_uri()],
            check=True, capture_output=True,
        )  # fmt: skip
        return Image.open(target).convert("RGB")


def beside(sheet: Image.Image, dpi: int, picked: tuple[int, int]) -> Image.Image:
    """Return a row of a sheet, folded back along its window, with a ribbon laid along it.

    The ribbon is drawn: nearly the colour of the swatch that was picked, at ``picked`` (mm).
    """
    mm = dpi / 25.4
    top, bottom = (round(it * mm) for it in (46, 80))
    row = sheet.crop((0, top, sheet.width, bottom))
    red, green, blue = sheet.getpixel((round(picked[0] * mm), round(picked[1] * mm)))
    ribbon = (red - 4, green - 6, blue + 4)
    height = round(11 * mm)
    scene = Image.new("RGB", (row.width + 2 * GAP, row.height + height + 2 * GAP), GROUND)
    scene.paste(row, (GAP, GAP + height))
    pen = ImageDraw.Draw(scene)
    left, right = GAP + round(12 * mm), scene.width
    pen.rectangle((left, GAP, right, GAP + height - 1), fill=ribbon)
    for at in (2, height - 4):  # its selvedges
        pen.line((left, GAP + at, right, GAP + at), fill=tuple(it - 14 for it in ribbon), width=2)
    pen.polygon(
        [(left, GAP), (left + height // 3, GAP + height // 2), (left, GAP + height)], fill=GROUND
    )
    return scene


def first_order() -> None:
    """Play the first afternoon through, and look at it at three places."""
    page = PAGE.read_text("utf-8")
    start, _, rest = page.partition("## 4.")
    asked, answer, end = rest.partition("```yaml\naccept_by_eye")
    with tempfile.TemporaryDirectory() as name:
        room = Path(name)
        out = room / ORDER / "out"
        play(start, room)
        run = json.loads((out / "run.json").read_text("utf-8"))
        sheet = out / next(it["path"] for it in run["samples"] if it["stock"] == "cotton-card")
        save(row(pages_of(sheet, 60)), "first-sheet.png")
        save(beside(pages_of(sheet, 90)[1], 90, (152, 58)), "first-match.png")
        play(asked, room)
        save(photograph(out / "report.html", 1000, 1100), "first-question.png")
        play(answer + end, room)
        run = json.loads((out / "run.json").read_text("utf-8"))
        card = next(it["path"] for it in run["files"] if it["what"] == "print")
        save(
            row([page_of(out / card, 60), page_of(out / "studio" / "order-sheet.pdf", 60)]),
            "first-files.png",
        )


def main() -> None:
    first_order()
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
                bench = Workbench(loaded, gather(shelf, loaded.order, loaded.order.pairs_needed()))
                gallery = OrderGallery(loaded.order, run, bench)
                pieces = list(loaded.order.pieces)
                before = [first_page(gallery.original(piece, 330)) for piece in pieces]
                after = [first_page(gallery.translated(piece, 330)) for piece in pieces]
                save(stacked([row(before), row(after)]), "suite.png")
                save(row(pages_of(out / "agreement.pdf", 72)), "agreement.png")
                file = next(
                    file
                    for file in run.files
                    if file.what == "print" and "invitation" in file.pieces
                )
                save(row([page_of(out / file.path, 50)]), "sheet.png")


if __name__ == "__main__":
    main()
