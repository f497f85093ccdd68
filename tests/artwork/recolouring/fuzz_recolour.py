"""Recolour damaged PDFs until one breaks the rules. By hand for minutes, in CI for seconds.

    python tests/artwork/recolouring/fuzz_recolour.py [--seconds 120] [--tries N] [--seed 1]
                                                      [--keep FOLDER]

Takes the constructed PDFs of the tests and, where the folder is present, the files of others;
damages bytes of the file, tokens of its content, and entries of its objects; recolours and
proves. Allowed are a result that is proven or carries an error finding, and a refusal
(``InkaccordError``). Anything else (a traceback, more than ten seconds of processor time) is a
find: it is written to the folder and printed, and the exit code is 1. A copy that its own
structural proof refuses is never delivered; it is kept and printed as well, to be looked into
(about one damaged file in 1,500: readers salvage broken data unlike each other).
"""

import argparse
import io
import itertools
import random
import sys
import time
import traceback
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

import pikepdf

from artwork_kit import KELP, document, parsed
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, parse_swap, recolour
from inkaccord.errors import InkaccordError
from inkaccord.pdf.limits import FileLimits
from outside import SHARED_PDFS

SWAPS = [
    parse_swap(text)
    for text in (
        "cmyk 85 20 60 30 = cmyk 78 12 55 41",
        "cmyk 0 0 0 100 = cmyk 60 40 40 100",
        "rgb 255 0 0 = cmyk 0 90 80 0",
        "gray 100 = gray 90",
        "spot Kelp = cmyk 10 20 30 40",
    )
]
SLOW = 10.0
TOKENS = (
    b"k K g G rg RG cs CS sc SC scn SCN q Q gs Do sh BI ID EI d0 d1 BT ET Tj TJ f B S re m l "
    b"0 1 0.85 -1 99999999999 1e9 .5 - /S /P /F /I /Pattern /DeviceCMYK /DeviceRGB ( ) < > << >> "
    b"[ ] { } % (a) <0A> true null 0k 1g"
).split()


def constructed() -> list[bytes]:
    """Return a file that holds a little of everything."""
    gradient = (
        "<< /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 9 9] /Function << /FunctionType 2 "
        "/Domain [0 1] /N 1 /C0 [0.85 0.2 0.6 0.3] /C1 [0 0 0 0] >> >>"
    )
    resources = (
        f"<< /ColorSpace << /S {KELP} /I [/Indexed /DeviceRGB 1 <FF000000FF00>] /U [/Pattern "
        f"/DeviceCMYK] >> /Shading << /S {gradient} >> /ExtGState << /G << /OP true /op true "
        "/OPM 1 >> >> >>"
    )
    content = (
        b"q 0.85 0.2 0.6 0.3 k 0 0 9 9 re f /S cs 0.5 scn f /I cs 1 sc f /S sh /G gs 0 0 0 1 k f "
        b"1 0 0 RG 0 0 9 9 re S BI /W 1 /H 1 /BPC 8 /CS /G ID a EI Q 0 g BT (a\\)b) Tj ET"
    )

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        form = pdf.make_stream(b"1 0 0 sc 0 0 9 9 re f /F Do")
        for key, value in parsed("<< /Subtype /Form /BBox [0 0 9 9] >>").items():
            form[key] = value
        page.obj.Resources.XObject = pikepdf.Dictionary(F=form)

    return [
        document(content + b" /DeviceRGB cs /F Do /DeviceGray cs /F Do", resources, setup),
        document([content[:40], content[40:]], resources),
    ]


def damaged_bytes(data: bytes, dice: random.Random) -> bytes:
    new = bytearray(data)
    for _ in range(dice.randrange(1, 12)):
        place = dice.randrange(len(new))
        match dice.randrange(3):
            case 0:
                new[place] = dice.randrange(256)
            case 1:
                del new[place : place + dice.randrange(1, 20)]
            case _:
                new[place:place] = dice.choice(TOKENS) + b" "
        if not new:
            return b"\0"
    return bytes(new)


def damaged_objects(data: bytes, dice: random.Random) -> bytes:
    """Damage a content stream's tokens or an object's entries, in a file that stays readable."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        objects = [
            one for one in pdf.objects if isinstance(one, (pikepdf.Stream, pikepdf.Dictionary))
        ]
        for _ in range(dice.randrange(1, 4)):
            one = dice.choice(objects)
            if isinstance(one, pikepdf.Stream) and dice.random() < 0.7:
                tokens = bytes(one.read_bytes()).split(b" ")
                for _ in range(dice.randrange(1, 6)):
                    place = dice.randrange(len(tokens))
                    tokens[place : place + dice.randrange(2)] = [dice.choice(TOKENS)]
                one.write(b" ".join(tokens))
                continue
            keys = sorted(set(one.keys()) - {"/Length", "/Type", "/Kids"})  # keys() is a set
            if keys:
                other = dice.choice(objects)
                values = [
                    0,
                    -1,
                    1e6,
                    pikepdf.Name("/DeviceN"),
                    pikepdf.Array([]),
                    other,
                    pikepdf.String("a"),
                ]
                one[dice.choice(keys)] = dice.choice(values)
        pdf.save(out, static_id=True)
    return out.getvalue()


def tried(data: bytes, dice: random.Random) -> str:
    """Return how it went: a short word, or a traceback."""
    options = RecolourOptions(spots=dice.choice(list(SpotMode)))
    started = time.process_time()
    try:
        made = recolour(data, SWAPS, options=options)
        proof = prove(data, made.data, SWAPS, options, render=False)
    except InkaccordError as refusal:
        word = f"refused, {refusal.findings[0].code}"
    except RecursionError:
        return "find: endless recursion\n" + traceback.format_exc(limit=6)
    except Exception:  # noqa: BLE001 - any other exception is what this looks for
        return "find: " + traceback.format_exc()
    else:
        if proof.passed:
            word = "proven"
        elif made.errors or proof.structure.verdict == "pass":
            word = "reported" if made.errors else "failed inventory"
        else:
            return f"unproven: {proof.structure.details}"
    if time.process_time() - started > SLOW:
        return f"find: {time.process_time() - started:.0f} s"
    return word


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    parser.add_argument("--seconds", type=float, default=120)
    parser.add_argument("--tries", type=int, help="so many files, however long they take")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, default=Path("fuzz-finds"))
    given = parser.parse_args()
    FileLimits.stream_mib, FileLimits.total_mib, FileLimits.nesting = 32, 256, 16
    seeds = constructed() * 20 + [
        path.read_bytes()
        for path in sorted(SHARED_PDFS.glob("*.pdf"))
        if path.stat().st_size < 200_000
    ]
    dice = random.Random(given.seed)
    counts: Counter[str] = Counter()
    seen: set[str] = set()
    end = time.monotonic() + given.seconds
    for tried_before in itertools.count():
        if tried_before == given.tries or (given.tries is None and time.monotonic() > end):
            break
        data = dice.choice(seeds)
        try:
            data = dice.choice((damaged_bytes, damaged_objects))(data, dice)
        except Exception:  # noqa: BLE001, S112 - the damage itself did not work out
            continue
        outcome = tried(data, dice)
        counts[outcome.split(":")[0]] += 1
        last = outcome.strip().rsplit("\n", maxsplit=3)[-3:]
        if outcome.startswith(("find", "unproven")) and str(last) not in seen:
            seen.add(str(last))
            given.keep.mkdir(parents=True, exist_ok=True)
            path = given.keep / f"{outcome.split(':')[0]}-{len(seen):03}.pdf"
            path.write_bytes(data)
            print(path, outcome[-900:], sep="\n")
        elif outcome == "failed inventory" and len(seen) < 40:
            proof_path = given.keep / "inventory.pdf"
            given.keep.mkdir(parents=True, exist_ok=True)
            proof_path.write_bytes(data)
    print(dict(counts))
    return 1 if counts["find"] else 0


if __name__ == "__main__":
    sys.exit(main())
