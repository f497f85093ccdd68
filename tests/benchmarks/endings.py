"""Whether every order ends: orders drawn at random, printed on invented devices, and answered.

    python tests/benchmarks/endings.py [--orders N] [--first K] [--keep FILE] [--beside FILE]
                                       [--published] [--commands] [--quick] [--json]

An order goes round: what is asked is printed, read, picked and answered by a simulated person
until every piece is ready, or nothing new can be done, or eight rounds of paper are used up. The
run is that of the program's own stages, without the work on artwork that decides nothing of
colour. What is released is then judged by what the devices really print in their usual state.

``--keep`` plays what a file lacks. ``--beside`` shows another file's orders beside them:
``endings_before.json`` holds those of the planner before it asked questions (commit a400e04).
``--published`` draws devices from published profiles. ``--commands`` plays a few orders a second
time with artwork, files and all through the command line, and compares.
"""

import argparse
import json
import os
import sys
import tempfile
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

from pathlib import Path

import numpy as np
from command_desk import COMPARED, compare
from drawn_orders import ORDER_KINDS, draw_order, invented
from order_desk import MOST_ROUNDS, Desk

QUICK = (10, 13)
THROUGH_COMMANDS = (10, 13, 14, 16, 21, 22)
PAPER = ("sheets", "pages", "paper_cm2", "swatches", "area_cm2", "ink_cm2")


def play(number, device):
    """Play one order to its end; return what is counted of it."""
    started = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        desk = Desk(draw_order(number, device), Path(folder))
        with desk.shelf:
            row = desk.play()
    return row | {"seconds": round(time.process_time() - started, 2)}


def device_maker(*, published):
    """Return what devices are drawn from."""
    if not published:
        return invented
    from published_devices import PROFILES, PublishedDevice

    if not PROFILES:
        sys.exit("none of the Debian packages' profiles is installed")
    return PublishedDevice


def kept(path):
    return json.loads(path.read_text("utf-8")) if path and path.exists() else []


def middle_and_most(values):
    """Return the median and the 95th percentile, as text."""
    return f"{np.median(values):.3g} / {np.percentile(values, 95):.3g}" if len(values) else "–"


def mean_of(rows, name):
    """Return the mean over the orders that have it: what was played earlier may lack a count."""
    found = [row[name] for row in rows if name in row]
    return round(float(np.mean(found)), 1) if found else "–"


def figures(rows):
    """Return what some orders came to."""
    wrong = sum(len(row["wrong"]) for row in rows)
    ready = sum(row["ready"] for row in rows)
    bounds = np.array([it for row in rows for it in row.get("bounds", ())]).reshape(-1, 2)
    held = f"{np.mean(bounds[:, 0] <= bounds[:, 1]):.1%}" if len(bounds) else "–"
    return {
        "orders": len(rows),
        "ended": sum(row["ended"] for row in rows),
        "rounds": middle_and_most([row["rounds"] for row in rows]),
        **{name: mean_of(rows, name) for name in PAPER},
        "questions": middle_and_most([row["questions"] for row in rows]),
        "needless": sum(row["needless"] for row in rows),
        "pieces ready": f"{ready} of {sum(row['pieces'] for row in rows)}",
        "wrongly released": f"{wrong} of {ready}",
        "taken on trust, and not so": sum(len(row.get("on_trust", ())) for row in rows),
        "wrongly held": sum(len(row["wrongly_held"]) for row in rows),
        "to the thing": middle_and_most([it for row in rows for it in row["to_thing"]]),
        "bounds that held": held,
    }


def beside(rows, others):
    """Return the pages of the orders that others ended, theirs and ours, and all orders' ends."""
    ours = {row["number"]: row for row in rows}
    both = [(it, ours[it["number"]]) for it in others if it["number"] in ours]
    ended = [(it, own) for it, own in both if it["ended"]]
    now = sum(own["ended"] for _, own in both)
    return {
        "orders in both": len(both),
        "ended": f"{len(ended)}, now {now}",
        **{
            f"{name} of those": f"{sum(it[name] for it, _ in ended):.0f}, "
            f"now {sum(own[name] for _, own in ended):.0f}"
            for name in PAPER
        },
    }


def show(title, table):
    print(f"\n{title}")
    for name, value in table.items():
        print(f"  {name:24} {value}")


def said(row):
    """Return an order's line."""
    end = "ended" if row["ended"] else f"DID NOT END ({row['why']})"
    return (
        f"{row['number']:4d} {row['kind']:12} {end}: {row['rounds']} rounds, {row['pages']} pages, "
        f"{row['questions']} questions ({row['needless']} needless), "
        f"{row['ready']} of {row['pieces']} ready, {len(row['wrong'])} wrong, "
        f"{len(row['wrongly_held'])} wrongly held, {row['seconds']} s"
    )


def show_both_ways():
    """Play a few orders both ways and show where they differ."""
    for short, whole in compare(THROUGH_COMMANDS):
        ways = {name: (short[name], whole[name]) for name in COMPARED}
        differ = {name: both for name, both in ways.items() if both[0] != both[1]}
        same = f"{whole['rounds']} rounds, {whole['pages']} pages, {whole['ready']} ready"
        said = differ or f"the same both ways: {same}"
        print(f"{short['number']:4d} {short['kind']:12} {said}", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--orders", type=int, default=300)
    parser.add_argument("--first", type=int, default=0, help="number of the first order")
    parser.add_argument("--quick", action="store_true", help="two orders: a smoke test")
    parser.add_argument("--json", action="store_true", help="print every order as JSON")
    parser.add_argument("--keep", type=Path, help="file that keeps what was played, and goes on")
    parser.add_argument("--beside", type=Path, help="a file of other orders to show beside")
    parser.add_argument("--published", action="store_true", help="devices of published profiles")
    parser.add_argument("--commands", action="store_true", help="a few orders by commands as well")
    asked = parser.parse_args()
    if asked.commands:
        show_both_ways()
        return
    device = device_maker(published=asked.published)
    rows = kept(asked.keep)
    done = {row["number"] for row in rows}
    wanted = QUICK if asked.quick else range(asked.first, asked.first + asked.orders)
    for number in wanted:
        if number in done:
            continue
        rows.append(play(number, device))
        if asked.keep:
            asked.keep.write_text(json.dumps(rows, ensure_ascii=False, indent=0), "utf-8")
        print(said(rows[-1]), file=sys.stderr, flush=True)
    if asked.json:
        print(json.dumps(rows, ensure_ascii=False, indent=1))
        return
    print(f"at most {MOST_ROUNDS} rounds; paper: means; the rest: median / 95th percentile")
    for kind, what in ORDER_KINDS.items():
        if of := [row for row in rows if row["kind"] == kind]:
            show(f"{kind}: {what}", figures(of))
    show("all", figures(rows))
    if asked.beside:
        show(f"beside {asked.beside.name}", beside(rows, kept(asked.beside)))


if __name__ == "__main__":
    main()
