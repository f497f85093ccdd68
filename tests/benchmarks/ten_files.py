"""Ten files in brand colours: what ``colours`` and ``recolour`` are timed on."""

import random
from collections.abc import Callable
from pathlib import Path

import pikepdf

from inkaccord.artwork.recolouring.recolour import parse_swap
from inkaccord.colour.builds import Build
from inkaccord.testing import draw_artwork

SWAPS = [
    parse_swap("cmyk 85 20 60 30 = cmyk 78 12 55 41"),
    parse_swap("cmyk 0 40 90 5 = cmyk 0 44 80 8"),
    parse_swap("cmyk 55 35 25 20 = cmyk 60 30 20 24"),
]
PALETTE = [
    "0.85 0.2 0.6 0.3",
    "0 0.4 0.9 0.05",
    "0.55 0.35 0.25 0.2",
    "0 0 0 1",
    "0.425 0.1 0.3 0.15",
    "0 0 0 0",
]
COLOURED = 5
"""Every so many pages of a book one has a rule in a brand colour."""


def paths(size: int, dice: random.Random) -> bytes:
    """Long outlines, a colour now and then."""
    parts: list[str] = []
    length = 0
    while length < size:
        parts.append(f"q {dice.choice(PALETTE)} k\n{dice.random() * 500:.2f} 10 m\n")
        parts += [
            " ".join(f"{dice.random() * 500:.2f}" for _ in range(6)) + " c\n" for _ in range(60)
        ]
        parts.append("h f Q\n")
        length += 60 * 42
    return "".join(parts).encode()


def colours(size: int, dice: random.Random) -> bytes:
    """A colour for every small rectangle, some of them never twice."""
    parts: list[str] = []
    length = 0
    while length < size:
        shade = dice.choice(PALETTE) if dice.random() < 0.7 else (
            f"0 0 0 {dice.random():.4f}"
        )  # fmt: skip
        parts.append(f"{shade} k {dice.random() * 500:.1f} {dice.random() * 500:.1f} 4 4 re f\n")
        length += 38
    return "".join(parts).encode()


def vector(size: int, dice: random.Random) -> bytes:
    """What drawing programs write: short shapes in their own states, strokes and fills."""
    parts: list[str] = []
    length = 0
    while length < size:
        parts.append(
            f"q 1 0 0 1 {dice.random() * 500:.3f} {dice.random() * 700:.3f} cm\n"
            f"/GS0 gs {dice.choice(PALETTE)} k {dice.choice(PALETTE)} K 0.5 w\n"
        )
        parts.append("0 0 m\n")
        parts += [
            " ".join(f"{dice.random() * 40:.3f}" for _ in range(6)) + " c\n"
            for _ in range(dice.randrange(3, 14))
        ]
        parts.append("b*\nQ\n")
        length += 420
    return "".join(parts).encode()


def text(size: int, dice: random.Random) -> bytes:
    """Set text with kerning, a colour for each paragraph."""
    parts: list[str] = []
    length = 0
    while length < size:
        parts.append(f"BT /F1 9 Tf {dice.choice(PALETTE)} k 1 0 0 1 40 700 Tm\n")
        for _ in range(20):
            words = "".join(f"(lantern)-{dice.randrange(20, 300)}(kelp)" for _ in range(6))
            parts.append(f"[{words}] TJ 0 -11 Td\n")
        parts.append("ET\n")
        length += 20 * 130
    return "".join(parts).encode()


MAKERS: dict[str, Callable[[int, random.Random], bytes]] = {
    "paths": paths,
    "colours": colours,
    "vector": vector,
    "text": text,
}


def write_pdf(path: Path, data: bytes, copies: int = 1) -> None:
    with pikepdf.new() as pdf:
        for number in range(copies):
            page = pdf.add_blank_page(page_size=(595, 842))
            page.obj.Resources = pikepdf.Object.parse(
                b"<< /ExtGState << /GS0 << /CA 1 >> >> /Font << /F1 << /Type /Font /Subtype /Type1 "
                b"/BaseFont /Helvetica >> >> >>"
            )
            page.obj.Contents = pdf.make_stream(data + b"%" + str(number).encode())
        pdf.save(path, compress_streams=True, recompress_flate=True)


def write_book(path: Path, pages: int) -> None:
    """Write pages of black text, some with a rule in a brand colour above it."""
    dice = random.Random(5)
    with pikepdf.new() as pdf:
        fonts = b"<< /Font << /F1 << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >> >>"
        resources = pdf.make_indirect(pikepdf.Object.parse(fonts))
        for number in range(pages):
            page = pdf.add_blank_page(page_size=(420, 595))
            page.obj.Resources = resources
            rule = f"{PALETTE[number // COLOURED % 3]} k 40 560 340 6 re f\n"
            lines = "".join(
                f"({'lantern kelp ' * 3}{dice.randrange(999)}) Tj 0 -12 Td\n" for _ in range(40)
            )
            page.obj.Contents = pdf.make_stream(
                f"{'' if number % COLOURED else rule}BT /F1 9 Tf 0 0 0 1 k 1 0 0 1 40 540 Tm\n"
                f"{lines}ET 0 0 0 .5 k 40 20 340 .5 re f\n".encode()
            )
        pdf.save(path)


def write_card(path: Path) -> None:
    """Write a card as a suite has it: a third in a brand colour, a line of type, all page boxes."""
    path.write_bytes(draw_artwork("5in x 7in", Build.cmyk(85, 20, 60, 30), label="card"))


def write_gradients(path: Path, number: int) -> None:
    """Write fields that run from a brand colour to paper, each a shading of its own."""
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(595, 842))
        shadings = pikepdf.Dictionary()
        content = []
        for at in range(number):
            x, y = 20 + 70 * (at % 8), 20 + 70 * (at // 8 % 11)
            ends = f"{PALETTE[at % 3]}", "0 0 0 0"
            shadings[f"/S{at}"] = pikepdf.Object.parse(
                f"<< /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [{x} {y} {x + 60} {y}] "
                f"/Function << /FunctionType 2 /Domain [0 1] /N 1 /C0 [{ends[0]}] /C1 [{ends[1]}] "
                ">> >>".encode()
            )
            content.append(f"q {x} {y} 60 60 re W n /S{at} sh Q\n")
        page.obj.Resources = pikepdf.Dictionary(Shading=shadings)
        page.obj.Contents = pdf.make_stream("".join(content).encode())
        pdf.save(path)


def write_pictures(path: Path, pixels: int) -> None:
    """Write four photographs on fields in brand colours."""
    dice = random.Random(3)
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(595, 842))
        pictures = pikepdf.Dictionary()
        content = []
        for at in range(4):
            picture = pdf.make_stream(dice.randbytes(3 * pixels * pixels))
            for key, value in (("Width", pixels), ("Height", pixels), ("BitsPerComponent", 8)):
                picture[f"/{key}"] = value
            picture.Subtype = pikepdf.Name.Image
            picture.ColorSpace = pikepdf.Name.DeviceRGB
            pictures[f"/I{at}"] = picture
            x, y = 40 + 270 * (at % 2), 60 + 380 * (at // 2)
            content.append(f"{PALETTE[at % 3]} k {x - 10} {y - 10} 260 360 re f\n")
            content.append(f"q 240 0 0 340 {x} {y} cm /I{at} Do Q\n")
        page.obj.Resources = pikepdf.Dictionary(XObject=pictures)
        page.obj.Contents = pdf.make_stream("".join(content).encode())
        pdf.save(path, compress_streams=True)


def write_ten(folder: Path, *, pages: tuple[int, int, int], size: int) -> dict[Path, int]:
    """Write three books of so many pages, four streams of that size, and three usual pages.

    Returns how many of :data:`SWAPS` each file has the colours of.
    """
    files: dict[Path, int] = {}
    for number in pages:
        source = folder / f"book-{number}.pdf"
        write_book(source, number)
        files[source] = min(3, 1 + (number - 1) // COLOURED)
    for kind, make in MAKERS.items():
        source = folder / f"{kind}.pdf"
        write_pdf(source, make(size, random.Random(7)))
        files[source] = 3
    write_card(folder / "card.pdf")
    write_gradients(folder / "gradients.pdf", 80)
    write_pictures(folder / "pictures.pdf", 40 + size // 1000)
    return files | {
        folder / "card.pdf": 1,
        folder / "gradients.pdf": 3,
        folder / "pictures.pdf": 3,
    }
