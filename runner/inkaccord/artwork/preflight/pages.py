"""Pages: count, boxes, trim size, safe area."""

from __future__ import annotations

from collections.abc import Iterator

from inkaccord.artwork.advice import TURN_ROUND
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.roles import Role
from inkaccord.diagnostics import Diagnostic, error, note, warning
from inkaccord.pdf.boxes import BoxName
from inkaccord.sizes import Box, Size
from inkaccord.units import mm
from inkaccord.words import counted, joined, plural

_NEST: tuple[tuple[BoxName, BoxName], ...] = (
    ("media", "crop"), ("media", "bleed"), ("bleed", "trim"), ("bleed", "art"),
)  # fmt: skip
_SLACK_PT = 0.5


REST_ON_SIZE = frozenset(
    {
        *("page-count", "no-trim-box", "trim-size", "outside-safe-area", "marks-in-bleed"),
        *("no-bleed", "bleed-unknown", "bleed-not-filled", "bleed-just-short"),
    }
)
"""What can't be said of an artwork whose pages are not those of its piece."""


def check_page_count(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``page-count``: as many pages as the piece has sides."""
    count = len(artwork.boxes)
    if rules.page_counts and count not in rules.page_counts:
        wanted = " or ".join(str(number) for number in rules.page_counts)
        yield error(
            "page-count",
            f"the artwork has {counted(count, 'page')}, expected {wanted}",
            # The first page too many, or the last that is there.
            place=artwork.place_of_page(min(count, max(rules.page_counts) + 1)),
            hint="'sides' on the piece says how many",
        )


def check_boxes(
    artwork: OpenArtwork, _: ArtworkRules, __: PreflightContext
) -> Iterator[Diagnostic]:
    """``boxes-not-nested``: each box that is stated lies inside the next."""
    for number, boxes in artwork.pages():
        raw = dict(boxes.raw)
        for outer, inner in _NEST:
            if inner not in raw or (outer not in raw and outer != "bleed"):
                continue
            outside = raw.get(outer, boxes.of(outer))
            if not outside.holds(raw[inner], _SLACK_PT):
                yield warning(
                    "boxes-not-nested",
                    f"the {inner} box reaches out of the {outer} box",
                    place=artwork.place(number, raw[inner]),
                )


def check_trim_box(
    artwork: OpenArtwork, _: ArtworkRules, __: PreflightContext
) -> Iterator[Diagnostic]:
    """``no-trim-box``: a page that does not say where it is cut."""
    lacking = [number for number, boxes in artwork.pages() if "trim" not in boxes.stated]
    if lacking:
        several = len(lacking) > 1
        yield note(
            "no-trim-box",
            f"{plural(len(lacking), 'page')} {joined([str(number) for number in lacking[:8]])} "
            f"{'have' if several else 'has'} no TrimBox, so {'their' if several else 'its'} whole "
            f"{'pages count' if several else 'page counts'} as the piece",
            place=artwork.place_of_page(lacking[0]),
        )


def check_trim_size(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``trim-size``: each page is as large as the piece, and lies the same way."""
    if rules.trim is None:
        return
    for number, boxes in artwork.pages():
        if boxes.fits(rules.trim):
            continue
        found, turned = boxes.trim_size, boxes.lies_turned(rules.trim)
        yield error(
            "trim-size",
            f"the trim size is {found}, the piece is {rules.trim}"
            + ("; it lies on its side" if turned else _enlarged(found, rules.trim)),
            place=artwork.place(number, boxes.trim),
            in_program=TURN_ROUND if turned else None,
            hint="or turn the piece's 'trim' round: width first"
            if turned
            else "or set the piece's 'trim' to the page's size",
        )


def _enlarged(found: Size, wanted: Size) -> str:
    across, up = wanted.width_pt / found.width_pt, wanted.height_pt / found.height_pt
    if abs(across - up) < 0.002 and abs(across - 1) > 0.01:
        return f"; the shape is right, the scale is {1 / across:.0%}"
    return ""


def check_safe_area(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``outside-safe-area``: type, and whatever is not meant to be cut, keeps its distance.

    Something that runs past the cut on a side is taken to bleed there, save type.
    """
    if rules.safe_pt <= 0:
        return
    for number, boxes in artwork.pages():
        close = [
            (mark, side, distance)
            for mark in artwork.on_page(number)
            if not mark.colour.is_white or mark.role is Role.TEXT
            for side, distance in _too_close(mark, boxes.trim, rules.safe_pt)
        ]
        for role_is_text in (True, False):
            found = [one for one in close if (one[0].role is Role.TEXT) is role_is_text]
            if not found:
                continue
            mark, side, distance = min(found, key=lambda one: one[2])
            what = "type" if role_is_text else f"a {mark.role}"
            others = len({id(one[0]) for one in found}) - 1
            more = f" ({others} more like it)" if others else ""
            where = (
                f"runs {mm(-distance):.1f} mm past the {side} cut"
                if distance < 0
                else f"stands {mm(distance):.1f} mm from the {side} cut"
            )
            finding = error if role_is_text and distance < 0 else warning
            yield finding(
                "outside-safe-area",
                f"{what} in {mark.colour} {where}; {mm(rules.safe_pt):.1f} mm is asked{more}",
                place=artwork.place(number, mark.box),
            )


def _too_close(mark: Mark, trim: Box, safe_pt: float) -> Iterator[tuple[str, float]]:
    box = mark.box
    if not box.meets(trim.grown(_SLACK_PT)):
        return
    for side, distance in (
        ("left", box.left - trim.left),
        ("bottom", box.bottom - trim.bottom),
        ("right", trim.right - box.right),
        ("top", trim.top - box.top),
    ):
        if distance >= safe_pt - 0.01:
            continue
        if distance <= 0.05 and mark.role is not Role.TEXT:
            continue  # it reaches or passes the cut: a matter of bleed
        yield side, distance
