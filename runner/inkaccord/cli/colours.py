"""``inkaccord colours``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.artwork.profiled import Profiled
from inkaccord.cli.shared import JSON, Settings, pass_settings, plain, print_json, show_findings
from inkaccord.cli.tables import add_rows, table
from inkaccord.words import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inkaccord.artwork.inventory.inventory import ColourEntry
    from inkaccord.artwork.inventory.nearest import Nearest
    from inkaccord.pdf.colours.colours import ArtworkColour

_MOST = 1000
"""So many colours are listed, those of the largest areas: nobody reads more on a screen."""


@click.command("colours")
@click.argument("file", metavar="FILE.pdf", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--order",
    "order",
    type=click.Path(path_type=Path, exists=True),
    metavar="ORDER",
    help="Say which of this order's brand colours each colour is.",
)
@click.option(
    "--picture",
    "picture",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="PAGE.html",
    help="Also write a page that shows each colour beside the places where it stands.",
)
@click.option(
    "--profiled",
    type=click.Choice([it.value for it in Profiled]),
    help="What colours with a profile are: what that makes of them, or, with 'plain', their "
    "numbers. Left out, what ORDER says, else 'as-profiled'.",
)
@click.option(
    "--dpi",
    default=300,
    show_default=True,
    type=click.IntRange(36, 1200),
    help="Resolution at which areas are measured.",
)
@JSON
@pass_settings
def command(
    settings: Settings,
    file: Path,
    order: Path | None,
    picture: Path | None,
    profiled: str | None,
    dpi: int,
    as_json: bool,
) -> None:
    """List every colour in a PDF, with its kind, its uses and its area."""
    from inkaccord.apart.crew import expect

    expect()  # PDFium draws in it
    from inkaccord.foresight.one_file import file_colours

    ordered = settings.load(order).order if order is not None else None
    with settings.working("measuring"):
        colours = file_colours(file, ordered, Profiled(profiled) if profiled else None, dpi=dpi)
    found, shown, judged = colours.found, colours.shown, colours.nearest
    if picture is not None:
        from inkaccord.artwork.inventory.page import inventory_page
        from inkaccord.files import write_if_changed

        write_if_changed(picture, inventory_page(file, found, nearest=judged).encode())
    if as_json:
        print_json(
            {
                **shown.model_dump(mode="json"),
                "nearest": [it.model_dump(mode="json") for it in judged],
            }
        )
        return
    most = [at for at in range(len(shown.colours)) if at < _MOST or _is_known(judged, at)]
    heads = ["colour", "kind", "mm²", "pages", "used for", "ink"]
    looks = [_look(shown.colours[at].colour) for at in most]
    more = [*(["looks"] if any(looks) else []), *(["is"] if judged else [])]
    listed = table(*heads, *more, right=("mm²", "ink"))
    rows = [_cells(shown.colours[at]) for at in most]
    if any(looks):
        rows = [[*row, look] for row, look in zip(rows, looks, strict=True)]
    if judged:
        rows = [[*row, _standing(judged[at])] for row, at in zip(rows, most, strict=True)]
    add_rows(listed, rows, settings.screen.width)
    settings.screen.print(listed)
    left = len(shown.colours) - len(most)
    if left:
        settings.screen.print(f"… and {left:,} more of less area; --json lists every colour")
    if found.pictures:
        settings.screen.print(counted(len(found.pictures), "picture"))
    show_findings(settings.screen, found.findings)
    if picture is not None:
        settings.screen.print(f"Wrote {plain(str(picture))}.")


def _is_known(judged: "Sequence[Nearest]", at: int) -> bool:
    """Whether it is a brand colour, or nearly, however little of it there is."""
    return bool(judged) and judged[at].standing in {"mapped", "near miss"}


def _cells(entry: "ColourEntry") -> list[str]:
    area, ink = entry.area_mm2, entry.colour.total_ink
    return [
        plain(entry.colour.spoken),
        str(entry.colour.kind),
        "?" if area is None else f"{area:.1f}",
        ", ".join(map(str, entry.pages.numbers)),
        ", ".join(map(str, entry.roles)),
        "" if ink is None else f"{ink:.0f} %",
    ]


def _look(colour: "ArtworkColour") -> str:
    """Return what a profile says that a colour looks like, as an order can write it."""
    return "" if colour.lab is None else "lab {:.1f} {:.1f} {:.1f}".format(*colour.lab)


def _standing(found: "Nearest") -> str:
    name = plain(found.brand) if found.brand else ""
    if found.tint_percent is not None:
        return f"{name} {found.tint_percent:.0f} %"
    return f"{found.standing} {name}".strip() if found.standing != "mapped" else name
