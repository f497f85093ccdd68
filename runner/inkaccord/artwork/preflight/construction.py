"""How the file is built: transparency, layers, version, protection."""

from __future__ import annotations

from collections.abc import Iterator

from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.diagnostics import Diagnostic, error, note, warning
from inkaccord.pdf.layers import Layers
from inkaccord.pdf.opening import version_of
from inkaccord.words import counted


def check_transparency(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
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
            )


def check_layers(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``layers``, ``hidden-layer``: optional content may print, or not, by a viewer's whim."""
    layers = Layers(artwork.pdf)
    if layers.hidden:
        painted = [mark for mark in artwork.marks if mark.layer in layers.hidden]
        names = list(dict.fromkeys(mark.layer for mark in painted))
        if painted:
            yield warning(
                "hidden-layer",
                f"the layer {names[0]!r} is switched off but still in the file"
                + (f", and {len(names) - 1} more" if len(names) > 1 else ""),
                place=artwork.place(painted[0].page, painted[0].box),
            )
    if layers.names and rules.layers == "flatten":
        on_one = next((mark for mark in artwork.marks if mark.layer), None)
        yield note(
            "layers",
            f"the file has {counted(len(layers.names), 'layer')}; this vendor wants none",
            place=artwork.place(on_one.page, on_one.box) if on_one else artwork.place(),
        )


def check_version(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``pdf-version``: not above what the vendor takes."""
    if rules.pdf_version is None:
        return
    major, minor = version_of(artwork.pdf)
    if (major, minor) > tuple(int(part) for part in rules.pdf_version.split(".")):
        yield error(
            "pdf-version",
            f"the file is PDF {major}.{minor}; this vendor takes up to {rules.pdf_version}",
            place=artwork.place(),
        )


def check_protection(
    artwork: OpenArtwork, _: ArtworkRules, __: PreflightContext
) -> Iterator[Diagnostic]:
    """``encrypted``: a protected file can stop at the vendor's."""
    if artwork.pdf.is_encrypted:
        yield warning(
            "encrypted",
            "the artwork is encrypted",
            place=artwork.place(),
        )
