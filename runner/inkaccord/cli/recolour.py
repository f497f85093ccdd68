"""``inkaccord recolour``."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    Settings,
    as_data,
    pass_settings,
    plain,
    print_json,
    show_findings,
)
from inkaccord.diagnostics import Diagnostic, note
from inkaccord.errors import ExitCode, OrderError
from inkaccord.words import counted, joined

if TYPE_CHECKING:
    from inkaccord.artwork.proof.prove import CopyProof
    from inkaccord.artwork.recolouring.recolour import RecolouredFile
    from inkaccord.artwork.swaps import Swap

if TYPE_CHECKING:
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
    type=click.Choice(["as-profiled", "plain"]),
    default="as-profiled",
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
    from inkaccord.artwork.advice import advised
    from inkaccord.artwork.finishing.groups import drive_of, mend_groups
    from inkaccord.artwork.proof.prove import prove
    from inkaccord.artwork.recolouring.absent import absent
    from inkaccord.artwork.recolouring.recolour import (
        OverprintMode,
        ProfiledMode,
        RecolourOptions,
        SpotMode,
        TintMode,
        recolour,
    )
    from inkaccord.artwork.swaps import NEUTRALS, black_ink_of
    from inkaccord.cli.asking import asked_swaps
    from inkaccord.colour.builds import Drive
    from inkaccord.files import is_same_file, read_bytes, write_if_changed
    from inkaccord.pdf.opening import open_artwork
    from inkaccord.pdf.signatures import SIGNED

    if is_same_file(target, source):
        raise OrderError.of(
            "same-file", f"{source} and {target} are the same file", hint="choose another name"
        )
    options = RecolourOptions(
        spots=SpotMode.KEEP if keep_spots else SpotMode.PROCESS,
        tints=TintMode.OFF if no_tints else TintMode.FOLLOW,
        overprint=OverprintMode.OFF if overprint_off else OverprintMode.REPORT,
        profiled=ProfiledMode(profiled),
    )
    asked, said_of_new = asked_swaps(settings, swaps)
    if neutrals == "black":
        if any(it.new.kind == "rgb" for it in asked):
            raise OrderError.of(
                "neutrals-in-rgb",
                "'--neutrals black' makes black ink of black in RGB, and the new builds are RGB",
                hint="leave it out: a device in RGB gets black, greys and white as they are",
            )
        asked.append(NEUTRALS)
    before = read_bytes(source)
    with settings.working("recolouring"):
        made = recolour(before, asked, options=options)
        greys = black_ink_of(made.without_build) if drive_of(asked) is Drive.CMYK else ()
        if greys:  # beside a colour that becomes CMYK they can't stay what they are
            options = options.model_copy(update={"beside": greys})
            made = recolour(before, asked, options=options)
        if break_signature:
            made = replace(made, findings=tuple(f for f in made.findings if f.code != SIGNED))
        with open_artwork(before) as pdf:
            missed = absent(pdf, [it for it in made.counts if not it.swap.neutral])
        if missed:
            raise OrderError(missed)
        proof = prove(before, made.data, asked, options)
        data, said = mend_groups(made.data, drive_of(asked))
    refused = () if made.errors else proof.refusals  # else they follow from the errors
    findings = advised(
        (*said_of_new, *_said_of_greys(greys), *made.findings, *refused, *said),
        made.program,
        in_order=False,
    )
    made = replace(made, data=data or made.data, findings=tuple(findings))
    good = proof.passed and not made.errors
    code = ExitCode.DONE if good else ExitCode.DISAGREE
    if good:
        write_if_changed(target, made.data)
    if as_json:
        print_json(
            {
                "exit_code": int(code),
                "written": str(target) if good else None,
                "swaps": [it.model_dump(mode="json") for it in made.counts],
                "photographs": made.photographs,
                "proof": proof.model_dump(mode="json"),
                "findings": as_data(made.findings),
            }
        )
        return int(code)
    _show(settings, made, proof)
    if made.without_build:
        _show_without_build(settings, made.without_build, asked)
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


def _show(settings: Settings, made: "RecolouredFile", proof: "CopyProof") -> None:
    """Print what was changed, how it was proved, and what is to be said of it."""
    from inkaccord.artwork.proof.parts import ProofVerdict

    for swapped in made.counts:
        settings.screen.print(
            f"{plain(str(swapped.swap))}: {counted(swapped.solids, 'place')}, "
            f"{counted(swapped.tints, 'tint')}"
        )
    if made.photographs:
        settings.screen.print(f"{made.photographs} photographs stay as they are")
    for name, part in (
        ("colours", proof.inventory),
        ("all else", proof.structure),
        ("rendering", proof.rendering),
    ):
        settings.screen.print(
            f"proof, {name}: {part.verdict}; {plain(str(part.checked))}", soft_wrap=True
        )
        for line in part.details if part.verdict is ProofVerdict.NOT_RUN else ():
            settings.screen.print(f"  {plain(line)}", soft_wrap=True)
    show_findings(settings.screen, made.findings)


def _said_of_greys(greys: "tuple[Swap, ...]") -> list[Diagnostic]:
    """Return a note that names the greys which became black ink beside a swapped colour."""
    if not greys:
        return []
    named = joined([f"{one.old.spoken} becomes {one.new.spoken}" for one in greys[:4]])
    more = f" (and {len(greys) - 4} more)" if len(greys) > 4 else ""
    return [
        note(
            "converted-beside",
            f"a gradient or table can only become CMYK whole: in it {named}{more}",
            hint="give it a '--swap' of its own to have another build",
        )
    ]
