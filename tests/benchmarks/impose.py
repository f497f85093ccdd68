"""How quick imposition is, and how large its files are.

Side by side with the ``qpdf`` command copying the same 10,000 pages: time of imposing them ten
up, and processor time of both, since the clock of a shared machine says little. Then the size of
10,000 copies of one page against one copy, and the growth with 1, 10 and 100 pieces.

    python tests/benchmarks/impose.py [--json] [--quick]
"""

import argparse
import io
import json
import os
import resource
import shutil
import subprocess
import tempfile
import time
import zlib
from collections.abc import Callable
from pathlib import Path

from pikepdf import Array, Dictionary, Name, Page, Pdf, Stream

from inkaccord.drawing.canvas import Drawing
from inkaccord.layout.impose import impose_sheets
from inkaccord.layout.model import Item, SheetStock
from inkaccord.layout.packing import lay_out
from inkaccord.sizes import Sides, Size

CARD = Size.parse("3.5in x 2in")
BLEED_PT = 9.0
SHEET = SheetStock(name="sra4", size=Size.parse("sra4"), margins=Sides.even(9))


def card_page() -> bytes:
    """Draw one card, with an embedded typeface."""
    size = Size(width_pt=CARD.width_pt + 18, height_pt=CARD.height_pt + 18)
    drawing = Drawing(size, title="card")
    drawing.page(size, trim_pt=(9, 9, 261, 153), bleed_pt=BLEED_PT)
    drawing.canvas.setFillColorCMYK(0.8, 0.2, 0.6, 0.3)
    drawing.canvas.rect(0, 0, size.width_pt, 40, stroke=0, fill=1)
    drawing.canvas.drawString(20, 90, "Boathouse Museum, members' evening")
    drawing.canvas.showPage()
    return drawing.bytes()


def cards(path: Path, many: int, *, own_resources: bool = False) -> None:
    """Write cards of which each has its own page and content.

    They share one resource dictionary, as page layout programs write it, or have one each.
    """
    with Pdf.open(io.BytesIO(card_page())) as one, Pdf.new() as pdf:
        page = one.pages[0].obj
        shared = pdf.copy_foreign(one.make_indirect(page.Resources))
        body = page.Contents.read_bytes()
        for number in range(many):
            own = body + b"\n0 0 0 1 k %d 60 m 240 60 l S" % (20 + number % 200)
            content = Stream(pdf, zlib.compress(own + b"\n%% %d" % number), Filter=Name.FlateDecode)
            made = Dictionary(
                Type=Name.Page,
                MediaBox=Array([0, 0, 270, 162]),
                BleedBox=Array([0, 0, 270, 162]),
                TrimBox=Array([9, 9, 261, 153]),
                Contents=pdf.make_indirect(content),
                Resources=pdf.make_indirect(Dictionary(shared)) if own_resources else shared,
            )
            pdf.pages.append(Page(pdf.make_indirect(made)))
        pdf.save(path)


def timed(work: Callable[[], object], rounds: int) -> tuple[float, float]:
    """Return the least wall time and the least processor time of some rounds, in seconds."""
    walls, cpus = [], []
    for _ in range(rounds):
        before, wall = _cpu(), time.perf_counter()
        work()
        walls.append(time.perf_counter() - wall)
        cpus.append(_cpu() - before)
    return min(walls), min(cpus)


def _cpu() -> float:
    """Return processor seconds of this process and of those that it ran to the end."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(r.ru_utime + r.ru_stime for r in used)


def against_qpdf(many: int, rounds: int, *, own_resources: bool = False) -> dict[str, float]:
    """Impose cards ten up, and let qpdf copy their pages."""
    item = Item(name="card", trim=CARD, bleed_pt=BLEED_PT, quantity=many, may_turn=False)
    imposition = lay_out([item], [SHEET])
    result: dict[str, float] = {
        "cards": many,
        "up": imposition.layouts[0].copies_of("card"),
        "sheets": imposition.sheets,
    }
    with tempfile.TemporaryDirectory() as folder:
        source, ours, theirs = (Path(folder) / f"{n}.pdf" for n in ("cards", "ours", "theirs"))
        cards(source, many, own_resources=own_resources)
        wall, cpu = timed(
            lambda: ours.write_bytes(impose_sheets({("card", 1): source}, imposition).data), rounds
        )
        result |= {"impose_s": wall, "impose_cpu_s": cpu}
        qpdf = shutil.which("qpdf")
        if qpdf:
            command = [qpdf, "--empty", "--pages", str(source), "1-z", "--", str(theirs)]
            wall, cpu = timed(lambda: subprocess.run(command, check=True), rounds)
            result |= {
                "qpdf_s": wall,
                "qpdf_cpu_s": cpu,
                "times_faster": wall / result["impose_s"],
                "times_faster_cpu": cpu / result["impose_cpu_s"],
                "size_to_qpdf": ours.stat().st_size / theirs.stat().st_size,
            }
    return result


def copies(many: int) -> dict[str, float]:
    """Compare the files of one copy and of many."""
    art = {("card", 1): card_page()}

    def size(quantity: int) -> tuple[int, int]:
        item = Item(name="card", trim=CARD, bleed_pt=BLEED_PT, quantity=quantity, may_turn=False)
        out = impose_sheets(art, lay_out([item], [SHEET]))
        return len(out.data), out.pages

    one, _ = size(1)
    all_of_them, pages = size(many)
    return {"copies": many, "pages": pages, "bytes_of_one": one, "bytes_of_all": all_of_them}


def growth(counts: tuple[int, ...], rounds: int) -> list[dict[str, float]]:
    """Lay out and impose orders of more and more pieces, in five sizes."""
    sizes = ["5in x 7in", "4.25in x 5.5in", "2in x 3.5in", "5.5in x 8.5in", "3.5in x 2in"]
    sheet = SheetStock(name="13x19", size=Size.parse("13x19"), margins=Sides.even(12))
    found: list[dict[str, float]] = []
    for count in counts:
        items = [
            Item(name=f"p{k}", trim=Size.parse(sizes[k % 5]), bleed_pt=9.0, quantity=50 + 7 * k)
            for k in range(count)
        ]
        art = {(item.name, 1): _blank(item.trim) for item in items}

        def whole(items: list[Item] = items, art: dict[tuple[str, int], bytes] = art) -> None:
            impose_sheets(art, lay_out(items, [sheet]))

        wall, cpu = timed(whole, rounds)
        laid = lay_out(items, [sheet])
        found.append(
            {
                "pieces": count,
                "seconds": wall,
                "cpu_seconds": cpu,
                "sheets": laid.sheets,
                "lower_bound": laid.lower_bound,
                "layouts": len(laid.layouts),
            }
        )
    return found


def _blank(trim: Size) -> bytes:
    full = Size(width_pt=trim.width_pt + 18, height_pt=trim.height_pt + 18)
    drawing = Drawing(full, title="piece")
    drawing.page(full, trim_pt=(9, 9, 9 + trim.width_pt, 9 + trim.height_pt), bleed_pt=9)
    drawing.canvas.drawString(20, 20, "piece")
    drawing.canvas.showPage()
    return drawing.bytes()


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true", help="small numbers, to see that it runs")
    options = parser.parse_args()
    many, rounds = (200, 1) if options.quick else (10_000, 5)
    report = {
        "processors": os.cpu_count(),
        "against_qpdf": against_qpdf(many, rounds),
        "own_resources": against_qpdf(many, rounds, own_resources=True),
        "copies": copies(many),
        "growth": growth((1, 10) if options.quick else (1, 10, 100), 1 if options.quick else 3),
    }
    if options.json:
        print(json.dumps(report, indent=2))
        return
    for name, resources in (("against_qpdf", "one"), ("own_resources", "each its own")):
        race = report[name]
        assert isinstance(race, dict)
        print(f"{race['cards']} cards, {race['up']} up, {race['sheets']} sheets; {resources} "
              "resource dictionary")  # fmt: skip
        print(f"  impose  {race['impose_s']:7.3f} s   processor {race['impose_cpu_s']:7.3f} s")
        if "qpdf_s" not in race:
            print("  qpdf is not here; install the Debian package qpdf to compare")
            continue
        print(f"  qpdf    {race['qpdf_s']:7.3f} s   processor {race['qpdf_cpu_s']:7.3f} s")
        print(
            f"  faster  {race['times_faster']:6.2f} ×   processor {race['times_faster_cpu']:6.2f} ×"
            f"   file {race['size_to_qpdf']:.2f} ×"
        )
    size = report["copies"]
    assert isinstance(size, dict)
    print(
        f"{size['copies']} copies on {size['pages']} pages: {size['bytes_of_all']} bytes; "
        f"one copy {size['bytes_of_one']} bytes"
    )
    print("pieces   seconds  processor  sheets  bound  layouts")
    rows = report["growth"]
    assert isinstance(rows, list)
    for row in rows:
        print(
            f"{row['pieces']:6d} {row['seconds']:9.3f} {row['cpu_seconds']:10.3f} "
            f"{row['sheets']:7d} {row['lower_bound']:6d} {row['layouts']:8d}"
        )


if __name__ == "__main__":
    main()
