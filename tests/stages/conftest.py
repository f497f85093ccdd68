"""The stage that makes print files, asked with pieces that need no recolouring."""

import io
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
import yaml

from inkaccord.knowledge.holdings import gather
from inkaccord.knowledge.values import Translations
from inkaccord.order.loading import load_order
from inkaccord.run.collected import Collected, PieceArtwork
from inkaccord.run.imposed import Imposed
from inkaccord.run.recoloured import ProofSummary, Recoloured, RecolouredPiece
from inkaccord.shelf.store import Shelf
from inkaccord.stages.impose import inkaccord_impose
from inkaccord.testing import draw_artwork
from inkaccord.workbench import Workbench

SIZES = {"invitation": "5in x 7in", "reply": "4.25in x 5.5in", "envelope": "a7-envelope"}


@pytest.fixture
def impose(tmp_path: Path) -> Callable[..., Imposed]:
    """Make the print files of pieces for a vendor with these fields."""

    def make(
        art: dict[str, bytes] | None = None,
        ready: tuple[str, ...] = tuple(SIZES),
        pieces: dict[str, dict[str, str]] | None = None,
        device: dict[str, object] | None = None,
        **vendor: object,
    ) -> Imposed:
        data = {
            "order": "evening",
            "date": "2026-10-05",
            "suites": 20,
            "colours": {
                "leaf": {"aim": {"lab": [45, -38, 24]}, "in_artwork": ["cmyk 75 20 80 10"]}
            },
            "stocks": {
                "card": {"size": "12x18"},
                "cream": {"kind": "envelope", "size": "a7-envelope"},
            },
            "vendors": {"shop": {"devices": {"press": device or {}}, "marks": False, **vendor}},
            "pieces": {
                name: {
                    "artwork": f"{name}.pdf",
                    "trim": size,
                    "device": "press",
                    "stock": "cream" if name == "envelope" else "card",
                }
                for name, size in SIZES.items()
            },
        }
        data["pieces"] |= {
            name: {"device": "press", "stock": "card", **fields}
            for name, fields in (pieces or {}).items()
        }
        files = {name: draw_artwork(size) for name, size in SIZES.items()} | (art or {})
        path = tmp_path / "order.yaml"
        path.write_text(yaml.safe_dump(data), "utf-8")
        loaded = load_order(path, {})
        artworks = []
        for name, pdf in files.items():
            pages = 1
            if b"broken" not in pdf:
                with pikepdf.open(io.BytesIO(pdf)) as opened:
                    pages = len(opened.pages)
            artworks.append(
                PieceArtwork(piece=name, path="", sha256="", pages=pages, photographs=0, colours=())
            )
        copies = tuple(
            RecolouredPiece(name, files[name], ProofSummary(passed=True, lines=()))
            for name in ready
        )
        with Shelf.open(tmp_path / "shelf.sqlite") as shelf:
            bench = Workbench(loaded, gather(shelf, loaded.order, loaded.order.pairs_needed()))
            return inkaccord_impose(
                loaded.order,
                Collected(artworks=tuple(artworks)),
                Translations(known=()),
                Recoloured(pieces=copies),
                bench,
            )

    return make
