"""Make the evidence of the members' evening: print, read and pick until the order can run.

    python jobs_example/make_evidence.py

runs the order without its evidence in a temporary folder, prints its sheets on the invented
printers, reads them, has two people look, and runs again, as a studio would; then writes what is
on the shelf to members_evening/evidence. Nothing in it is measured.
"""

import json
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).parent
ORDER = HERE / "members_evening" / "order.yaml"
READ_ON = "2026-10-01"
PICKED_ONLY = "inkjet"
"""The inkjet's sheets are judged by eye alone."""
EYE_AIMS = {"kelp": "34.0,-23.5,3.5", "lantern": "60,20,46", "slate": "41,-4,-10"}
"""What the person sees: samples on the table."""
LOOKED_ON = "north-quay-press@natural-cotton"
"""The pair that is read beside whose sheet the slate is held: the lightest paper shows most."""
EYES = ("studio", "museum")
"""Who looks: two people see more than one."""
MOST_ROUNDS = 8


def call(*words: object, check: bool = True) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(
        [sys.executable, *map(str, words)], check=False, capture_output=True, text=True
    )
    if check and done.returncode:
        raise SystemExit(done.stderr or done.stdout)
    return done


def inkaccord(*words: object) -> subprocess.CompletedProcess[str]:
    done = call("-m", "inkaccord.cli.main", *words, check=False)
    if done.returncode not in {0, 3, 4}:
        raise SystemExit(done.stderr or done.stdout)
    return done


def record(planned: dict[str, str], colours: list[str], order: Path, room: Path) -> None:
    """Print a sheet and record it: by eye on the inkjet, by instrument elsewhere."""
    sheet = order.parent / "out" / planned["table"]
    shutil.copy2(sheet, room)  # it is looked at again when the order no longer asks for it
    if f'"{PICKED_ONLY}@' in sheet.read_text():
        look(sheet, colours, order, sure=0.8)
        return
    read = room / "read"
    call(HERE / "print_and_read.py", sheet, "--into", read, "--spectra", "--printed-on", READ_ON)
    inkaccord("record", sheet.stem, read / sheet.name, "--order", order)


def look(sheet: Path, colours: list[str], order: Path, *, sure: float) -> None:
    """Have everyone look for the colours on a sheet.

    Each answers what the sheet asks; a colour that it has no swatches for is picked from all.
    """
    asked = re.search(r'^TO_HOLD_AGAINST_THE_THING\s+"(.*)"', sheet.read_text(), re.MULTILINE)
    groups = asked[1].split("; ") if asked else []
    offered = {group.partition(":")[0] for group in groups} & set(colours)
    for who in EYES:
        about = (
            "--light", "D50 booth", "--sure", sure, "--on", READ_ON, "--order", order,
        )  # fmt: skip
        if offered:
            things = [f"{name}={EYE_AIMS[name]}" for name in sorted(offered)]
            call(HERE / "look_by_eye.py", sheet, *things, "--who", who, *about)
        if others := [f"{name}={EYE_AIMS[name]}" for name in colours if name not in offered]:
            picks = call(HERE / "pick_by_eye.py", sheet, *others, "--who", who).stdout.split()
            inkaccord("record", sheet.stem, *picks, "--by", who, *about)


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        room = Path(name)
        shutil.copytree(HERE / "artwork", room / "artwork")
        order = room / "members_evening" / "order.yaml"
        order.parent.mkdir()
        text = re.sub(r"^evidence: .*\n", "", ORDER.read_text("utf-8"), flags=re.MULTILINE)
        order.write_text(text, "utf-8")
        looked = False
        for round_ in range(1, MOST_ROUNDS + 1):
            done = inkaccord("run", order, "--json")
            run = json.loads(done.stdout)
            print(f"round {round_}: exit {done.returncode}, {len(run['next'])} things to do")
            if not run["next"]:
                break
            asked = {step["sheet"]: step["colours"] for step in run["next"]}
            for sheet in run["samples"]:
                record(sheet, asked[sheet["id"]], order, room)
            waiting = [step for step in run["next"] if "inkaccord look" in (step["command"] or "")]
            if waiting and not looked:
                sheets = (path for path in room.glob("*.txt") if LOOKED_ON in path.read_text())
                look(next(sheets), ["slate"], order, sure=0.9)
                looked = True
        evidence = ORDER.parent / "evidence"
        shutil.rmtree(evidence, ignore_errors=True)
        inkaccord("shelf", "--order", order, "export", evidence)
        print(f"wrote {evidence.relative_to(HERE.parent)}")


if __name__ == "__main__":
    main()
