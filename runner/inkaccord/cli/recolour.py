"""``inkaccord recolour``."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.artwork.profiled import Profiled
from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    Settings,
    pass_settings,
    plain,
    print_json,
    show_findings,
)
from inkaccord.errors import ExitCode, OrderError
from inkaccord.words import counted

if TYPE_CHECKING:
    from inkaccord.artwork.one_file import CopySaid
    from inkaccord.artwork.swaps import Swap
    from inkaccord.colour.paints import Paint


@click.command("recolour")
@click.argument("source", metavar="IN.pdf", type=click.Path(path_type=Path, dir_okay=False))
@click.argument("target", metavar="OUT.pdf", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--swap",
    "swaps",
    multiple=True,
    required=True,
    metavar="'OLD = NEW'",
    help="'cmyk 85 20 60 30 = cmyk 78 12 55 41' or 'spot Kelp = cmyk 78 12 55 41'. NEW may be a "
    "swatch 'K7Q-XM3/B7', or be asked for: 'spot Kelp = ask lab 41 -20 8 on device@stock', in the "
    "words of 'inkaccord ask'. As many as wanted; all are made at once, so two colours can change "
    "places.",
)
@click.option("--keep-spots", is_flag=True, help="A spot stays a spot, with the new build inside.")
@click.option("--no-tints", is_flag=True, help="Leave tints of a swapped colour alone.")
@click.option(
    "--overprint-off",
    is_flag=True,
    help="Switch overprint off where a new build would change what shows through.",
)
@click.option(
    "--neutrals",
    type=click.Choice(["keep", "black"]),
    default="keep",
    show_default=True,
    help="'black': also make black, greys and white in RGB black ink alone, and no ink.",
)
@click.option(
    "--profiled",
    type=click.Choice([it.value for it in Profiled]),
    default=Profiled.AS_PROFILED.value,
    show_default=True,
    help="What colours with a profile are: what that makes of them, so that OLD is found where it "
    "looks so; or, with 'plain', their numbers. Look at OUT.pdf then: numbers that were converted "
    "to a profile are another colour without it.",
)
@click.option(
    "--break-signature",
    is_flag=True,
    help="Change a signed file too: OUT.pdf then carries a signature that no longer holds.",
)
@takes("order", "shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    source: Path,
    target: Path,
    swaps: tuple[str, ...],
    keep_spots: bool,
    no_tints: bool,
    overprint_off: bool,
    neutrals: str,
    profiled: str,
    break_signature: bool,
    as_json: bool,
) -> int:
    """Change colours in one PDF, and prove that nothing else changed.

    OUT.pdf is written only when the file holds every OLD and the proof holds.
    """
    from inkaccord.apart.crew import expect

    expect()  # Ghostscript runs in it for the proof, or PDFium for a damaged file
    from inkaccord.artwork.one_file import Asked, proved_copy
    from inkaccord.artwork.recolouring.recolour import (
        OverprintMode,
        RecolourOptions,
        SpotMode,
        TintMode,
    )
    from inkaccord.cli.asking import asked_shelf
    from inkaccord.files import is_same_file, read_bytes, write_if_changed
    from inkaccord.knowledge.new_colours import asked_swaps

    if is_same_file(target, source):
        raise OrderError.of(
            "same-file", f"{source} and {target} are the same file", hint="choose another name"
        )
    options = RecolourOptions(
        spots=SpotMode.KEEP if keep_spots else SpotMode.PROCESS,
        tints=TintMode.OFF if no_tints else TintMode.FOLLOW,
        overprint=OverprintMode.OFF if overprint_off else OverprintMode.REPORT,
        profiled=Profiled(profiled),
    )
    swapped, said_of_new = asked_swaps(swaps, lambda one: asked_shelf(settings, [one]))
    asked = Asked(
        swaps=tuple(swapped),
        options=options,
        black_neutrals=neutrals == "black",
        break_signature=break_signature,
    )
    before = read_bytes(source)
    with settings.working("recolouring"):
        copy = proved_copy(before, asked, said_of_new, settings.say_more)
    said, good = copy.said, copy.said.is_good
    code = ExitCode.DONE if good else ExitCode.DISAGREE
    if good:
        write_if_changed(target, copy.data)
    if as_json:
        written = str(target) if good else None
        print_json({"exit_code": int(code), "written": written, **said.model_dump(mode="json")})
        return int(code)
    _show(settings, said)
    if said.without_build:
        _show_without_build(settings, said.without_build, copy.swaps)
    settings.screen.print(
        f"Wrote {plain(str(target))}." if good else "It is not right, so nothing was written."
    )
    return int(code)


def _show_without_build(
    settings: Settings, paints: "Iterable[Paint]", asked: "Iterable[Swap]"
) -> None:
    """Say which colours need a swap too, as it can be pasted and filled in."""
    kind = "cmyk C M Y K" if any(it.new.kind == "cmyk" for it in asked) else "rgb R G B"
    settings.screen.print("Say what these become, too, for instance with an order's builds:")
    for paint in paints:
        settings.screen.print(f"  --swap '{plain(str(paint))} = {kind}'")


def _show(settings: Settings, said: "CopySaid") -> None:
    """Print what was changed, how it was proved, and what is to be said of it."""
    from inkaccord.artwork.proof.parts import ProofVerdict

    for swapped in said.swaps:
        settings.screen.print(
            f"{plain(str(swapped.swap))}: {counted(swapped.solids, 'place')}, "
            f"{counted(swapped.tints, 'tint')}"
        )
    if said.photographs:
        stay = "stays as it is" if said.photographs == 1 else "stay as they are"
        settings.screen.print(f"{counted(said.photographs, 'photograph')} {stay}")
    for name, part in (
        ("colours", said.proof.inventory),
        ("all else", said.proof.structure),
        ("rendering", said.proof.rendering),
    ):
        settings.screen.print(
            f"proof, {name}: {part.verdict}; {plain(str(part.checked))}", soft_wrap=True
        )
        for line in part.details if part.verdict is ProofVerdict.NOT_RUN else ():
            settings.screen.print(f"  {plain(line)}", soft_wrap=True)
    show_findings(settings.screen, said.findings)
