"""Type: fonts, and small type that needs several inks to stand exactly on each other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext, more_like
from inkaccord.artwork.preflight.inks import ink_count
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.roles import Role
from inkaccord.diagnostics import Diagnostic, error, warning
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.pdf.ghostscript import ghostscript_path
from inkaccord.words import joined

_SEEN_RIM_PERCENT = 10.0
"""Ink that the eye misses in a rim round type: common practice, no source."""


def _type(artwork: OpenArtwork) -> Iterator[Mark]:
    for number, _ in artwork.pages():
        yield from (mark for mark in artwork.on_page(number) if mark.role is Role.TEXT)


def _sized(artwork: OpenArtwork, least_pt: float) -> list[Mark]:
    return [m for m in _type(artwork) if 0 < (m.text_size_pt or 0) < least_pt - 0.01]


def _smallest_first(marks: Iterable[Mark]) -> dict[ArtworkColour, list[Mark]]:
    groups: dict[ArtworkColour, list[Mark]] = {}
    for mark in sorted(marks, key=lambda one: one.text_size_pt or 0):
        groups.setdefault(mark.colour, []).append(mark)
    return groups


def check_fonts(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``font-not-embedded`` or, where outlines are asked for, ``font-not-outlined``."""
    faces: dict[str, Mark] = {}
    for mark in _type(artwork):
        face = mark.typeface
        if face is not None and (rules.fonts == "outlined" or not face.embedded):
            faces.setdefault(face.name, mark)
    if not faces:
        return
    first = next(iter(faces.values()))
    names = joined([*faces][:6]) + (" and others" if len(faces) > 6 else "")
    if rules.fonts == "outlined":
        yield error(
            "font-not-outlined",
            f"type is set in {names}; this vendor wants it as outlines",
            place=artwork.place(first.page, first.box),
            hint=(
                ""
                if ghostscript_path()
                else "or install Ghostscript, with which the order makes outlines; "
            )
            + "or set 'fonts: embedded' in the vendor's 'pdf'",
        )
    else:
        yield error(
            "font-not-embedded",
            f"not in the file, so that others may be printed in their place: the fonts {names}"
            if len(faces) > 1
            else f"the font {names} is not in the file, so another may be printed in its place",
            place=artwork.place(first.page, first.box),
        )


def check_small_type(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``small-type-several-inks``: fine strokes blur when inks do not meet exactly."""
    if rules.multi_ink_type_pt is None:
        return
    small = [
        mark
        for mark in _sized(artwork, rules.multi_ink_type_pt)
        if ink_count(mark.colour) > 1 and not mark.colour.has_much_black
    ]
    for colour, marks in _smallest_first(small).items():
        yield warning(
            "small-type-several-inks",
            f"type of {marks[0].text_size_pt:.1f} pt is set in {colour}, "
            f"{ink_count(colour)} inks; at least {rules.multi_ink_type_pt:g} pt is asked"
            + more_like(marks),
            place=artwork.place(marks[0].page, marks[0].box),
        )


def check_rich_black_type(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``rich-black-type``: black type that brings other inks with it."""
    if rules.rich_black_type_pt is None:
        return
    small = [
        mark
        for mark in _sized(artwork, rules.rich_black_type_pt)
        if mark.colour.has_much_black and ink_count(mark.colour) > 1
    ]
    for colour, marks in _smallest_first(small).items():
        yield warning(
            "rich-black-type",
            f"type of {marks[0].text_size_pt:.1f} pt is set in {colour}, black with other inks "
            f"under it; below {rules.rich_black_type_pt:g} pt black alone stays sharp"
            + more_like(marks),
            place=artwork.place(marks[0].page, marks[0].box),
        )


def check_reversed_type(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``small-reversed-type``: small white type on a ground of several inks fills in."""
    if rules.reversed_type_pt is None:
        return
    small = [m for m in _sized(artwork, rules.reversed_type_pt) if m.colour.is_white]
    for marks in _smallest_first(small).values():
        on_inks = [(mark, ground) for mark in marks if (ground := artwork.ground(mark))]
        several = [(mark, ground) for mark, ground in on_inks if ink_count(ground) > 1]
        if not several:
            continue
        mark, ground = several[0]
        yield warning(
            "small-reversed-type",
            f"white type of {mark.text_size_pt:.1f} pt stands in {ground}, {ink_count(ground)} "
            f"inks; at least {rules.reversed_type_pt:g} pt is asked"
            + more_like([m for m, _ in several]),
            place=artwork.place(mark.page, mark.box),
        )


def check_black_type(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``black-type-knocks-out``: small black type on a tint that is left out under it.

    Where the inks do not meet exactly, a bright rim shows round fine strokes.
    """
    if rules.reversed_type_pt is None:
        return
    small = [
        mark
        for mark in _sized(artwork, rules.reversed_type_pt)
        if mark.colour.is_black_only and mark.colour.has_much_black and not mark.overprint
    ]
    on_tint = [(mark, ground) for mark in small if (ground := _tint_under(artwork, mark))]
    if not on_tint:
        return
    mark, ground = min(on_tint, key=lambda one: (one[0].page, one[0].text_size_pt or 0))
    yield warning(
        "black-type-knocks-out",
        f"black type of {mark.text_size_pt:.1f} pt does not overprint {ground}, so the tint is "
        f"left out under it; below {rules.reversed_type_pt:g} pt a bright rim may show"
        + more_like([m for m, _ in on_tint]),
        place=artwork.place(mark.page, mark.box),
    )


def _tint_under(artwork: OpenArtwork, mark: Mark) -> ArtworkColour | None:
    """Return the colour under type, if it takes another ink than black strongly enough."""
    ground = artwork.ground(mark)
    if ground is None or ground.inks is None:
        return None
    others = sum(amount for name, amount in ground.inks if name != "Black")
    return ground if others >= _SEEN_RIM_PERCENT else None
