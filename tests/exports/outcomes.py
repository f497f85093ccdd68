"""What becomes of every export.

    python tests/exports/outcomes.py [WORD ...]

does all again (minutes), or the exports whose names hold a word, writes ``outcomes.json``, and
says what is wrong without a reason in ``misses.py``. Then ``python docs/generate.py`` makes the
page of it.
"""

import json
import sys
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path

HERE = Path(__file__).parent
if __name__ == "__main__":
    sys.path.insert(0, str(HERE.parent))

from exports.areas import area_errors, is_said  # noqa: E402
from exports.designs import BRANDS, flats  # noqa: E402
from exports.harness import FILES, INDEX, TWINS, by_places, by_twin, design_of, written  # noqa: E402
from exports.misses import MISSES  # noqa: E402
from exports.order_kit import answered, ordered  # noqa: E402
from inkaccord.artwork.inventory.inventory import inventory  # noqa: E402
from inkaccord.colour.paints import Paint  # noqa: E402

WRONG = "wrong: "
RECORDED = HERE / "outcomes.json"
CONVERTED = ("layout-screen-", "gs-cmyk-")
"""Exports in which the program converted every colour: no colour of the design is left in them."""
KNOWN = tuple(
    Paint.parse(written(colour, kind))
    for colour in BRANDS
    for kind in ("cmyk", "rgb", *(["spot"] if colour.spot else []))
)
"""The brand colours, as an order names them."""
QUESTIONS = ("colours", "same kind", "to CMYK")
"""What is asked of each export: whether its colours are found, and what recolouring makes of it."""
ORDERS = {"press": "order, CMYK press", "inkjet": "order, RGB driver"}
"""What is asked of it in a whole order, by device."""
ANSWERED = {device: f"{asked}, findings answered" for device, asked in ORDERS.items()}
"""The same once the lines are pasted into the order that the findings of a refused piece name."""


def answer(name: str, question: str) -> str:
    """Return 'exact', 'refused: codes', or what is wrong."""
    if question == "colours":
        found = inventory(FILES / f"{name}.pdf", known=KNOWN)
        said = {entry.colour.text: entry.area_mm2 or 0.0 for entry in found.colours}
        left_out = INDEX[name]["left_out"]
        assert isinstance(left_out, list)
        if name.startswith(CONVERTED):
            brands = [flat for flat in flats(design_of(name)) if flat.colour in BRANDS]
            left = [text for text in said for flat in brands if is_said(flat, text)]
            return WRONG + ", ".join(left) if left else "converted by the program"
        wrong = area_errors(design_of(name), set(left_out), said)
        return WRONG + "; ".join(wrong) if wrong else "exact"
    if question == "same kind":
        if not (TWINS / f"{name}.pdf").exists():
            return "no twin"
        outcome, wrong_as = by_twin(name)
    else:
        outcome, wrong_as = by_places(name, question.removeprefix("to ").lower())
    if outcome.copy is None:
        return "refused: " + ", ".join(outcome.refused_by)
    return WRONG + wrong_as if wrong_as else "exact"


def recorded() -> dict[str, dict[str, str]]:
    """Return the answers that are kept, by export and question."""
    kept: dict[str, dict[str, str]] = json.loads(RECORDED.read_text("utf-8"))
    return kept


def verdict(said: str) -> str:
    """Return an answer without the figures, which renderers' versions may move."""
    return "wrong" if said.startswith(WRONG) else said


def main(words: Sequence[str]) -> None:
    names = [name for name in INDEX if not words or any(word in name for word in words)]
    answers = recorded() if words else {}
    for name in names:
        answers[name] = {asked: answer(name, asked) for asked in QUESTIONS}
    with tempfile.TemporaryDirectory() as folder:
        for name, said in whole_orders(Path(folder) / "order", names).items():
            answers[name] |= said
    for name, asked, said in unexplained(answers):
        print(f"{name}, {asked}: {said}", file=sys.stderr)
    asked = (*QUESTIONS, *ORDERS.values(), *ANSWERED.values(), "said")
    kept = {
        name: {it: answers[name][it] for it in asked if it in answers[name]}
        for name in INDEX
        if name in answers
    }
    RECORDED.write_text(json.dumps(kept, indent=1, ensure_ascii=False) + "\n", "utf-8")


def whole_orders(folder: Path, names: Iterable[str]) -> dict[str, dict[str, str]]:
    """Return the answers of whole orders by export, those of refused pieces' second ones too."""
    folder.mkdir()
    found = ordered(folder, names)
    answers = {
        name: {ORDERS.get(device, device): said for device, said in devices.items()}
        for name, devices in found.items()
    }
    refused = [(name, device) for name in found for device in ORDERS
               if found[name][device].startswith("refused")]  # fmt: skip
    for (name, device), said in answered(folder, refused).items():
        answers[name][ANSWERED[device]] = said
    return answers


def unexplained(answers: dict[str, dict[str, str]]) -> list[tuple[str, str, str]]:
    """Return the wrong answers that ``MISSES`` does not name."""
    return [
        (name, asked, said)
        for name, asks in answers.items()
        for asked, said in asks.items()
        if said.startswith(WRONG) and asked not in MISSES.get(name, {})
    ]


if __name__ == "__main__":
    main(sys.argv[1:])
