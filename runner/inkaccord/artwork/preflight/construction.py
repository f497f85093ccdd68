"""How the file is built: transparency, layers, version, protection."""

from __future__ import annotations

from collections.abc import Iterator

from inkaccord.artwork.objects.page_objects import Layers
from inkaccord.artwork.preflight.case import Artwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.diagnostics import Diagnostic, error, note, warning


def check_transparency(
    artwork: Artwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``transparency``: nothing see-through where the vendor does not want it."""
    if rules.transparency:
        return
    for number, _boxes in artwork.pages():
        found = [
            mark
            for mark in artwork.on_page(number)
            if mark.see_through or (mark.picture is not None and mark.picture.soft_mask)
        ]
        if found:
            yield error(
                "transparency",
                f"a {found[0].role} is see-through (opacity, blend mode or soft mask); this vendor "
                "takes none" + (f" ({len(found) - 1} more)" if len(found) > 1 else ""),
                place=artwork.place(number, found[0].box),
                hint="flatten transparency on export",
            )


def check_layers(
    artwork: Artwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``layers``, ``hidden-layer``: optional content may print, or not, by a viewer's whim."""
    layers = Layers(artwork.pdf)
    hidden = sorted(layers.hidden)
    if hidden:
        used = {mark.layer for mark in artwork.marks}
        painted = [name for name in hidden if name in used]
        if painted:
            yield warning(
                "hidden-layer",
                f"the layer {painted[0]!r} is switched off but still in the file"
                + (f", and {len(painted) - 1} more" if len(painted) > 1 else ""),
                place=artwork.place(),
                hint="delete it from the artwork if it must not print",
            )
    if layers.names and rules.layers == "flatten":
        yield note(
            "layers",
            f"the file has {len(layers.names)} layers; this vendor wants none",
            place=artwork.place(),
            hint="export without layers",
        )


def check_version(
    artwork: Artwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``pdf-version``: not above what the vendor takes."""
    if rules.pdf_version is None:
        return
    found = artwork.pdf.pdf_version
    if _parts(found) > _parts(rules.pdf_version):
        yield error(
            "pdf-version",
            f"the file is PDF {found}; this vendor takes up to {rules.pdf_version}",
            place=artwork.place(),
            hint=f"export as PDF {rules.pdf_version}",
        )


def _parts(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in version.split(".") if part.isdigit())


def check_protection(
    artwork: Artwork, _: ArtworkRules, __: PreflightContext
) -> Iterator[Diagnostic]:
    """``encrypted``: a protected file can stop at the vendor's."""
    if artwork.pdf.is_encrypted:
        yield warning(
            "encrypted",
            "the artwork is encrypted",
            place=artwork.place(),
            hint="save it without protection",
        )
