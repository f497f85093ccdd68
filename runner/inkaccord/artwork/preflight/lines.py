"""Lines: none thinner than the press holds."""

from collections.abc import Iterable, Iterator

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext, more_like
from inkaccord.artwork.preflight.inks import ink_count
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.roles import Role
from inkaccord.diagnostics import Diagnostic, error, warning

_NO_WIDTH_PT = 0.005
"""Thinner than any device can show: meant as 'as thin as the device can' (ISO 32000-2, 8.4.3.2)."""
_ROUND_PT = 1.5
"""How far round a line its ground is looked at."""


def check_lines(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``hairline`` and ``thin-line-several-inks``: strokes, and bars drawn as thin fills."""
    lines = [
        (width, mark)
        for number, _boxes in artwork.pages()
        for mark in artwork.on_page(number)
        if not mark.colour.is_white and (width := _width(mark)) is not None
    ]
    none = [mark for width, mark in lines if width < _NO_WIDTH_PT]
    if none and rules.line_pt is not None:
        yield error(
            "line-without-width",
            "a line has no width, so each device draws it as thin as it can; at least "
            f"{rules.line_pt:g} pt is asked" + more_like(none),
            place=artwork.place(none[0].page, none[0].box),
        )
    thin = _thinnest_first(
        (w, m) for w, m in lines if w >= _NO_WIDTH_PT and _below(w, rules.line_pt)
    )
    if thin:
        width, mark = thin[0]
        yield warning(
            "hairline",
            f"a line of {width:.2f} pt; at least {rules.line_pt:g} pt is asked"
            + more_like([one for _, one in thin]),
            place=artwork.place(mark.page, mark.box),
        )
    several = _thinnest_first(
        (w, m)
        for w, m in lines
        if _below(w, rules.multi_ink_line_pt)
        and not _below(w, rules.line_pt)
        and ink_count(m.colour) > 1
    )
    if several:
        width, mark = several[0]
        yield warning(
            "thin-line-several-inks",
            f"a line of {width:.2f} pt in {mark.colour}, {ink_count(mark.colour)} inks; at "
            f"least {rules.multi_ink_line_pt:g} pt is asked"
            + more_like([one for _, one in several]),
            place=artwork.place(mark.page, mark.box),
        )


def check_reversed_lines(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``thin-reversed-line``: thin white lines on a ground of several inks fill in."""
    if rules.reversed_line_pt is None:
        return
    white = _thinnest_first(
        (width, mark)
        for number, _boxes in artwork.pages()
        for mark in artwork.on_page(number)
        if mark.colour.is_white
        and (width := _width(mark)) is not None
        and _below(width, rules.reversed_line_pt)
    )
    several = [
        (width, mark, ground)
        for width, mark in white
        if (ground := artwork.ground(mark, _ROUND_PT)) and ink_count(ground) > 1
    ]
    if several:
        width, mark, ground = several[0]
        yield warning(
            "thin-reversed-line",
            f"a white line of {width:.2f} pt stands in {ground}, {ink_count(ground)} inks; at "
            f"least {rules.reversed_line_pt:g} pt is asked"
            + more_like([one for _, one, _ in several]),
            place=artwork.place(mark.page, mark.box),
        )


def _thinnest_first(lines: Iterable[tuple[float, Mark]]) -> list[tuple[float, Mark]]:
    return sorted(lines, key=lambda one: (one[0], one[1].page, one[1].box))


def _below(width_pt: float, least_pt: float | None) -> bool:
    return least_pt is not None and width_pt < least_pt - 0.001


def _width(mark: Mark) -> float | None:
    """Return the width of a line, or the thin side of a fill that is a bar; None if no line."""
    if mark.line_width_pt is not None and mark.role is not Role.TEXT:
        return mark.line_width_pt
    if mark.role is Role.FILL:
        thin, long = sorted((mark.box.width, mark.box.height))
        if long > 2 and thin < long / 4:
            return thin
    return None
