"""Export the designs from general programs: the PDFs that the tests beside this script read.

Each is exported twice, into ``files`` in its colours and into ``twins`` in those that they become
where the tests recolour it: what the program itself writes then is what recolouring must give.

    python tests/exports/make.py [WORD ...]

Each WORD chooses the exports whose file name holds it; without words all are made. The programs
must be installed (Debian: inkscape, librsvg2-bin, scribus, xvfb, libreoffice-draw,
texlive-pictures, lmodern, fonts-dejavu-core, ghostscript, qpdf; Python: weasyprint, typst,
reportlab, fonttools, numpy, pillow); the tests need none of them, only the files that are kept.
"""

import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent))

from exports.designs import DESIGNS, Design, swapped  # noqa: E402
from exports.writers.fodg import FodgWriter  # noqa: E402
from exports.writers.photos import write_photos  # noqa: E402
from exports.writers.profile import press_profile  # noqa: E402
from exports.writers.svg import SvgWriter  # noqa: E402
from exports.writers.tikz import TikzWriter  # noqa: E402
from exports.writers.typst import TypstWriter  # noqa: E402
from exports.writers.web import HtmlWriter  # noqa: E402

FILES = HERE / "files"
TWINS = HERE / "twins"
INDEX = HERE / "index.json"
Photos = dict[str, Path]
Exporter = Callable[[Design, Photos, Path, Path], list[str]]
"""Draws a design in a working folder into a PDF; returns what the program can't draw."""

STILL = {**os.environ, "SOURCE_DATE_EPOCH": "1790000000", "FORCE_SOURCE_DATE": "1"}


def _run(*command: str | Path, cwd: Path | None = None) -> str:
    done = subprocess.run(
        [str(word) for word in command],
        cwd=cwd,
        env=STILL,
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        raise SystemExit(f"{command}\n{done.stdout[-3000:]}\n{done.stderr[-3000:]}")
    return done.stdout


def _svg(design: Design, photos: Photos, folder: Path) -> Path:
    file = folder / "design.svg"
    file.write_text(SvgWriter(photos).write(design))
    return file


def inkscape(*options: str) -> Exporter:
    def export(design: Design, photos: Photos, folder: Path, out: Path) -> list[str]:
        svg = _svg(design, photos, folder)
        _run("inkscape", svg, "--export-type=pdf", f"--export-filename={out}", *options)
        return ["overprint"]

    return export


def cairo(design: Design, photos: Photos, folder: Path, out: Path) -> list[str]:
    _run("rsvg-convert", "-f", "pdf", "-o", out, _svg(design, photos, folder))
    return ["overprint"]


def office(form: str) -> Exporter:
    def export(design: Design, photos: Photos, folder: Path, out: Path) -> list[str]:
        writer = FodgWriter(photos)
        source = folder / "design.fodg"
        source.write_text(writer.write(design))
        if form == "svg":
            source = _svg(design, photos, folder)
        home = f"-env:UserInstallation=file://{folder}/home"
        options = "draw_pdf_Export"
        _run("soffice", home, "--headless", "--convert-to", f"pdf:{options}", source, cwd=folder)
        out.write_bytes((folder / "design.pdf").read_bytes())
        return [*writer.left_out, "overprint"] if form != "svg" else ["overprint"]

    return export


def web(kind: str, bleed: bool = True, **options: str) -> Exporter:
    def export(design: Design, photos: Photos, folder: Path, out: Path) -> list[str]:
        import weasyprint

        writer = HtmlWriter(photos, kind, bleed)
        html = weasyprint.HTML(string=writer.write(design), base_url=str(folder))
        html.write_pdf(out, pdf_identifier=b"inkaccord", **options)
        return [*writer.left_out, "overprint"]

    return export


def typst(kind: str, **options: str) -> Exporter:
    def export(design: Design, photos: Photos, folder: Path, out: Path) -> list[str]:
        import typst as compiler

        writer = TypstWriter(photos, kind)
        source = folder / "design.typ"
        source.write_text(writer.write(design))
        compiler.compile(
            source, output=out, font_paths=["/usr/share/fonts/truetype/dejavu"], **options
        )
        return [*writer.left_out, "overprint"]

    return export


def tikz(kind: str) -> Exporter:
    def export(design: Design, photos: Photos, folder: Path, out: Path) -> list[str]:
        writer = TikzWriter(photos, kind)
        (folder / "design.tex").write_text(writer.write(design))
        _run("pdflatex", "-interaction=nonstopmode", "-halt-on-error", "design.tex", cwd=folder)
        out.write_bytes((folder / "design.pdf").read_bytes())
        return [*writer.left_out, "overprint"]

    return export


def library(kind: str, boxes: bool = True) -> Exporter:
    def export(design: Design, photos: Photos, folder: Path, out: Path) -> list[str]:
        from exports.writers.library import LibraryWriter

        writer = LibraryWriter(photos, kind, boxes)
        out.write_bytes(writer.write(design))
        return writer.left_out

    return export


def layout(kind: str) -> Exporter:
    def export(design: Design, photos: Photos, folder: Path, out: Path) -> list[str]:
        profiles = folder / ".color" / "icc"
        profiles.mkdir(parents=True)
        (profiles / "slipway.icc").write_bytes(press_profile())
        script = HERE / "writers" / "layout.py"
        made = folder / "made.pdf"
        colours = "original" if design == DESIGNS[design.name] else "swapped"
        words = ("-g", "-ns", "-py", script, design.name, colours, kind, folder, made)
        _run("xvfb-run", "-a", "env", f"HOME={folder}", "scribus", *words)
        out.write_bytes(made.read_bytes())
        return made.with_suffix(".txt").read_text().splitlines()

    return export


def distil(first: str, *options: str) -> Exporter:
    """Return a pass of another export through Ghostscript."""

    def export(design: Design, photos: Photos, folder: Path, out: Path) -> list[str]:
        profile = folder / "press.icc"
        profile.write_bytes(press_profile())
        # Ghostscript's own CMYK profile would weigh more than all that it is attached to.
        _run(
            "gs",
            "-q",
            f"-sDefaultCMYKProfile={profile}",
            f"--permit-file-read={profile}",
            "-sDEVICE=pdfwrite",
            *options,
            "-o",
            out,
            FILES / first,
        )
        return []

    return export


def repack(first: str, *options: str) -> Exporter:
    """Return a pass of another export through qpdf."""

    def export(design: Design, photos: Photos, folder: Path, out: Path) -> list[str]:
        _run("qpdf", "--deterministic-id", *options, FILES / first, out)
        return []

    return export


GS_CMYK = ("-sColorConversionStrategy=CMYK", "-dProcessColorModel=/DeviceCMYK")
GS_PROFILED = ("-sColorConversionStrategy=UseDeviceIndependentColor",)
GS_TEXT = (
    "-dASCII85EncodePages=true",
    "-dPassThroughJPEGImages=false",
    "-dAutoFilterColorImages=false",
    "-dColorImageFilter=/FlateEncode",
)

EXPORTS: dict[str, tuple[str, Exporter]] = {
    **{
        f"inkscape-{name}": (name, inkscape())
        for name in ("invitation", "blends", "map", "menu", "postcard", "ticket")
    },
    "inkscape-outlined-invitation": ("invitation", inkscape("--export-text-to-path")),
    **{
        f"cairo-{name}": (name, cairo)
        for name in ("reply-card", "blends", "map", "menu", "postcard")
    },
    **{
        f"office-{name}": (name, office("fodg"))
        for name in ("invitation", "envelope", "blends", "menu", "ticket")
    },
    "office-svg-map": ("map", office("svg")),
    **{
        f"web-cmyk-{name}": (name, web("cmyk"))
        for name in ("invitation", "programme", "blends", "ticket")
    },
    "web-rgb-map": ("map", web("rgb")),
    "web-rgb-postcard": ("postcard", web("rgb", bleed=False)),
    **{
        f"typst-cmyk-{name}": (name, typst("cmyk"))
        for name in ("invitation", "blends", "map", "postcard")
    },
    **{f"typst-rgb-{name}": (name, typst("rgb")) for name in ("reply-card", "ticket", "blends")},
    "typst-archive-reply-card": ("reply-card", typst("rgb", pdf_standards="a-2b")),
    **{f"tikz-cmyk-{name}": (name, tikz("cmyk")) for name in ("invitation", "blends", "map")},
    "tikz-rgb-tag": ("tag", tikz("rgb")),
    "tikz-rgb-map": ("map", tikz("rgb")),
    **{
        f"library-spot-{name}": (name, library("spot"))
        for name in ("invitation", "ticket", "programme")
    },
    "library-cmyk-blends": ("blends", library("cmyk", boxes=False)),
    "library-rgb-postcard": ("postcard", library("rgb", boxes=False)),
    **{
        f"layout-{kind}-{name}": (name, layout(kind))
        for kind, names in {
            "plain": ("invitation", "blends", "map", "menu", "ticket"),
            "x3": ("envelope", "ticket", "blends"),
            "x4": ("programme", "blends", "menu", "postcard", "ticket"),
            "screen": ("tag", "ticket", "postcard"),
        }.items()
        for name in names
    },
    "gs-inkscape-blends": ("blends", distil("inkscape-blends.pdf")),
    "gs-cmyk-inkscape-invitation": ("invitation", distil("inkscape-invitation.pdf", *GS_CMYK)),
    "gs-profiled-tikz-invitation": (
        "invitation",
        distil("tikz-cmyk-invitation.pdf", *GS_PROFILED),
    ),
    "gs-text-web-programme": ("programme", distil("web-cmyk-programme.pdf", *GS_TEXT)),
    "gs-library-ticket": ("ticket", distil("library-spot-ticket.pdf")),
    "qpdf-packed-tikz-invitation": (
        "invitation",
        repack("tikz-cmyk-invitation.pdf", "--object-streams=generate", "--linearize"),
    ),
    "qpdf-plain-cairo-map": ("map", repack("cairo-map.pdf", "--qdf", "--stream-data=uncompress")),
}


WITH_TWIN = {name for name in EXPORTS if not name.startswith(("gs-", "qpdf-", "layout-screen"))}
"""The exports of which a twin is kept: the same program's, of the design in the new colours."""

PROGRAMS = {
    "inkscape": "Inkscape",
    "cairo": "cairo (rsvg-convert)",
    "office": "LibreOffice Draw",
    "web": "WeasyPrint",
    "typst": "Typst",
    "tikz": "TikZ (pdfTeX)",
    "library": "ReportLab",
    "layout": "Scribus",
    "gs": "Ghostscript",
    "qpdf": "qpdf",
}
"""Each program by the first word of its exports' names."""


def _versions() -> dict[str, str]:
    """Return the version of each program, by the first word of an export's name."""

    def said(*command: str) -> str:
        found = re.search(r"\d+(\.\d+)+(-\d+)?", _run(*command))
        assert found is not None
        return found.group(0)

    return {
        "inkscape": said("inkscape", "--version"),
        "cairo": said("rsvg-convert", "--version"),
        "office": said("soffice", "--version"),
        "layout": said("dpkg-query", "-W", "-f", "${Version}", "scribus"),
        "tikz": said("cat", _run("kpsewhich", "pgf.revision.tex").strip()),
        "gs": said("gs", "--version"),
        "qpdf": said("qpdf", "--version"),
        "web": version("weasyprint"),
        "typst": version("typst"),
        "library": version("reportlab"),
    }


def main() -> None:
    FILES.mkdir(exist_ok=True)
    words = sys.argv[1:]
    versions = _versions()
    index = json.loads(INDEX.read_text()) if INDEX.exists() else {}
    TWINS.mkdir(exist_ok=True)
    for name, (design, export) in EXPORTS.items():
        if words and not any(word in name for word in words):
            continue
        with tempfile.TemporaryDirectory() as temporary:
            folder = Path(temporary)
            photos = write_photos(folder)
            out = FILES / f"{name}.pdf"
            left_out = export(DESIGNS[design], photos, folder, out)
            if name in WITH_TWIN:
                with tempfile.TemporaryDirectory() as other:
                    photos = write_photos(Path(other))
                    export(swapped(DESIGNS[design]), photos, Path(other), TWINS / out.name)
        index[name] = {
            "program": PROGRAMS[name.split("-")[0]],
            "version": versions[name.split("-")[0]],
            "design": design,
            "trim_mm": [DESIGNS[design].width, DESIGNS[design].height],
            "left_out": sorted(set(left_out)),
        }
        print(name, out.stat().st_size, left_out, flush=True)
    index = {name: index[name] for name in EXPORTS}
    INDEX.write_text(json.dumps(index, indent=1) + "\n")


if __name__ == "__main__":
    main()
