"""The page that says what of each program's exports is taken, mended and refused."""

import json
from collections import defaultdict
from pathlib import Path
from typing import Any

TESTED = Path(__file__).parents[1] / "tests" / "exports"
PRESS, DRIVER = "order, CMYK press", "order, RGB driver"
ANSWERED = ", findings answered"

HEAD = """# Exports that were tried

Ten designs, exported from eight general programs, some of them passed through two more; each put
through `colours`, `recolour` and a whole order for two vendors, a press that takes CMYK and a
driver that takes RGB. [Exporting artwork](exporting.md) says what to tick; this page says what came
of it. It is made from the outcomes of the tests (`python tests/exports/outcomes.py`); the files,
and the script that made them, are kept in `tests/exports/`.

What comes out is judged by others: Ghostscript separates the file for printing, pdfium draws it,
and both must show what the same program exports of the design in the new colours, or what the run
says that each colour becomes. **Exact** means that they do, everywhere, within rounding.
**Refused** means that nothing was delivered, for the reasons named. A refused piece is ordered once
more, with the very lines pasted into the order that its findings ask for, and judged likewise:
*once answered*. Where no line is asked for, its findings say what to change in the program.

| design | what is in it |
| --- | --- |
"""
DESIGNS = {
    "invitation, reply-card, envelope, tag": "areas that bleed, tints, thin frames, text that is"
    " text, white text on colour",
    "programme": "a gradient to a tint, a photograph, words as curves",
    "blends": "gradients: of two and of three colours, round ones, to white, to a colour that is no"
    " brand colour",
    "map": "a pattern, a clip, something see-through, something that multiplies",
    "menu": "soft shadows, blurred shapes and words",
    "postcard": "photographs, without and with a profile, one in a round clip",
    "ticket": "spots and their tints, overprint, rich black, greys, a hairline",
}


def exports_page() -> str:
    """Return the page in Markdown."""
    index: dict[str, Any] = json.loads((TESTED / "index.json").read_text("utf-8"))
    outcomes: dict[str, dict[str, str]] = json.loads((TESTED / "outcomes.json").read_text("utf-8"))
    programs: dict[str, list[str]] = defaultdict(list)
    for name, about in index.items():
        programs[f"{about['program']} {about['version']}"].append(name)
    return "\n".join(
        [
            HEAD + "\n".join(f"| {design} | {held} |" for design, held in DESIGNS.items()),
            "",
            "## By program",
            "",
            "As a CMYK press got them, in an order that names its colours in CMYK, in RGB and as"
            " spots, and says nothing else for the sake of the program.",
            "",
            "| program | taken as it is | taken, and something was mended or said | refused |",
            "| --- | --- | --- | --- |",
            *(_program_row(program, names, outcomes) for program, names in programs.items()),
            "",
            "## By export",
            "",
            "| export | colours found | in its own kind of colour | to CMYK | order, CMYK press"
            " | once answered | order, RGB driver | once answered |",
            "| --- | --- | --- | --- | --- | --- | --- | --- |",
            *(_export_row(name, outcomes[name]) for name in index),
            "",
        ]
    )


def _program_row(program: str, names: list[str], outcomes: dict[str, dict[str, str]]) -> str:
    taken, mended, refused = [], [], []
    for name in names:
        said, notes = outcomes[name][PRESS], outcomes[name]["said"]
        if said != "exact":
            answered = _reasons(outcomes[name].get(PRESS + ANSWERED, ""))
            refused.append(f"{name}: {_reasons(said)}; once answered {answered}")
        elif notes:
            mended.append(f"{name}: {_codes(notes)}")
        else:
            taken.append(name)
    return f"| {program} | {', '.join(taken)} | {'; '.join(mended)} | {'; '.join(refused)} |"


def _export_row(name: str, answers: dict[str, str]) -> str:
    orders = (PRESS, PRESS + ANSWERED, DRIVER, DRIVER + ANSWERED)
    cells = (_reasons(answers.get(one, "")) for one in ("colours", "same kind", "to CMYK", *orders))
    return f"| {name} | {' | '.join(cells)} |"


def _reasons(said: str) -> str:
    verdict, _, more = said.partition(": ")
    if verdict == "refused":
        return f"refused, {_codes(more)}"
    return "**wrong**" if verdict == "wrong" else said


def _codes(listed: str) -> str:
    return ", ".join(f"`{code}`" if " " not in code else code for code in listed.split(", "))
