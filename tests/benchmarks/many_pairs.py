"""One thing on three pairs: what each pair is worth alone, and what they are worth together.

    python tests/benchmarks/many_pairs.py [--eye RMS] [--aims N] [--quick] [FILE…]

FILE: ICC CMYK profiles, as for ``picks.py``, whose people look here. Three orders are played for
each: with another press on cream and the same on bright white; with the same on kraft and another
press; with another press on bright white and a driver in RGB. None of the pairs is read, or the
first is. *Alone*, each pair is looked at as if there were no other; *together*, as the tool does,
with all that the others tell. Where all are read: what the aim is worth, by the pairs looked at.
Before that, on each kind of pair: what models misplace that rest on the paper alone.
"""

import argparse
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import practices as do
from picks import MATTERS, SEED, START, Person, blank, first_guess, off, spread
from rgb_drivers import rgb_pairs
from virtual_pairs import INSTALLED, other_stock, profile_pair

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.drivers import other_drivers
from inkaccord.colour.picks import (
    LOOKS_A_SHEET,
    SETTLED,
    guides,
    offered_on,
    picked_build,
)
from inkaccord.colour.sampling.eye_set import COARSE, eye_set, ladder_ways, steps_of
from inkaccord.knowledge.elsewhere import told_from, weighed
from inkaccord.planning.rounds import MOST_PICKED
from inkaccord.recall.recall import computed

FIRST_SHEET = 40
POLICY = do.policy(whole=True)
BUILDS = 1000
IN_REACH = 2.5
"""ΔE00 from a print of each pair within which a thing lies that all of them can print."""


class Looked(SimpleNamespace):
    """A pair, as far as looks ask for it, and what was seen on it."""

    @classmethod
    def of(cls, pair, rng, *, is_read):
        read = do.read(pair, do.scouting(pair, FIRST_SHEET), rng) if is_read else None
        model = do.fit(read) if is_read else first_guess(pair)
        return cls(
            pair=pair,
            model=model,
            others=() if is_read else other_drivers(do.drive_of(pair), model.paper_lab),
            is_read=is_read,
            drive=do.drive_of(pair),
            policy=POLICY,
            recall=computed,
            bound_of=lambda build: float(model.bound(build[None])[0]),
            paper=pair.lab(blank(pair))[0],
            looks=[],
            sheets=0,
            swatches=0,
            found=None,
        )

    def look(self, middle, steps, person):
        first = self.found is None
        model = self.model if first else self.found.model
        own = eye_set(model, middle, POLICY, steps, self.others if first else ())
        offered = offered_on(self.model, own)
        printed = self.pair.lab(offered.builds)
        self.looks += [person.look(offered, printed, self.paper) for _ in range(LOOKS_A_SHEET)]
        self.sheets, self.swatches = self.sheets + 1, self.swatches + len(printed)

    def picked(self, tell=None):
        return picked_build(self.model, self.looks, POLICY, self.others, tell)

    def build_of(self, lab):
        return do.match(self.model, lab[None], POLICY).builds[0]

    @property
    def done(self):
        if self.found is None or self.sheets == MOST_PICKED:
            return self.found is not None
        enough = self.sheets > 1 or self.found.belief.change_by(LOOKS_A_SHEET) < MATTERS
        return self.found.bound <= SETTLED and enough

    def next_sheet(self, start, told):
        """Return the build that the next swatches lie round, and their steps."""
        if self.found is not None:
            spread_here = self.found.belief.spread(ladder_ways(self.found.lab))
            return self.found.build, steps_of(spread_here)
        if guides(told):
            return self.build_of(told.lab), steps_of(told.spread)
        return self.build_of(start), (COARSE,) * 3


def told(pairs, here, own):
    """Return what all other pairs saw, as it is on one."""
    seen = [(it, own[it.pair.name]) for it in pairs if it is not here and it.pair.name in own]
    return told_from(seen, here) if seen else None


def look_on_all(pairs, person, start, *, together):
    """Look on all pairs, sheet after sheet; return what each print is off, and its bound."""
    own = {}
    # Together, those that are read are looked at first.
    reads = [it for it in pairs if it.is_read] if together else []
    for turn in [reads, *[pairs] * MOST_PICKED]:
        for here in (it for it in turn if not it.done):
            here.look(*here.next_sheet(start, told(pairs, here, own) if together else None), person)
        own = {it.pair.name: it.picked() for it in pairs if it.looks}
        for here in (it for it in pairs if it.looks):
            tell = told(pairs, here, own) if together and not here.is_read else None
            here.found = here.picked(tell)
    return [
        (float(delta_e_2000(it.pair.lab(it.found.build[None])[0], person.thing)), it.found.bound)
        for it in pairs
        if not it.is_read
    ]


def groups(files):
    """Return three times three pairs for each profile."""
    presses, stocks = [profile_pair(path) for path in files], do.STOCKS
    for at, (press, path) in enumerate(zip(presses, files, strict=True)):
        other, behind = presses[(at + 1) % len(presses)], rgb_pairs(path)
        white, cream = stocks["bright white"], stocks["cream, uncoated"]
        yield "CMYK", [press, other_stock(other, **cream), other_stock(press, **white)]
        yield "CMYK", [press, other_stock(press, **stocks["kraft"]), other]
        yield "and RGB", [press, other_stock(other, **white), behind[(0, 5, 9)[at % 3]]]


def things(pairs, count, rng):
    """Return (n, 3) CIELAB that every pair can print."""
    prints = [it.lab(do.random_builds(it, 4000, rng)) for it in pairs]
    found = (
        lab
        for lab in prints[1]
        if all(delta_e_2000(of, lab).min() < IN_REACH for of in prints[::2])
    )
    return [lab for lab, _ in zip(found, range(count), strict=False)]


def misplaced(files):
    """Print how far builds at random print from where the paper alone has them, for each kind."""
    found = {}
    for path in files:
        press = profile_pair(path)
        pairs = {"as it is": press}
        pairs |= {on: other_stock(press, **stock) for on, stock in do.STOCKS.items()}
        pairs |= {it.name.partition(": ")[2]: it for it in rgb_pairs(path)}
        for kind, pair in pairs.items():
            builds = do.random_builds(pair, BUILDS, np.random.default_rng(SEED))
            apart = delta_e_2000(first_guess(pair).predict_lab(builds), pair.lab(builds))
            found.setdefault(kind, []).append(apart)
    print("by the paper alone: root mean square, median")
    for kind, apart in found.items():
        every = np.concatenate(apart)
        print("  ", kind, f"{np.sqrt(np.mean(every**2)):.1f} {np.median(every):.1f}")


def settings(files, asked):
    """Yield each kind of order, its pairs, and a person with a thing and a guess at it."""
    for at, (kind, pairs) in enumerate(groups(files)):
        if asked.quick and at:
            return
        rng = np.random.default_rng([SEED, at])
        for number, thing in enumerate(things(pairs, asked.aims, rng)):
            yield kind, pairs, thing, [SEED, at, number]


def not_all_read(files, asked):
    """Print what pairs come to that are not read, alone and together."""
    for reads in (1,) if asked.quick else (0, 1):
        for together in (True,) if asked.quick else (False, True):
            rows, took = {}, []
            for kind, pairs, thing, seed in settings(files, asked):
                rng = np.random.default_rng(seed)
                looked = [
                    Looked.of(it, np.random.default_rng([*seed, n]), is_read=n < reads)
                    for n, it in enumerate(pairs)
                ]
                person, start = Person(thing, asked.eye, 0.0, 0.5, rng), off(thing, START, rng)
                rows.setdefault(kind, []).extend(
                    look_on_all(looked, person, start, together=together)
                )
                took.append([sum(it.sheets for it in looked), sum(it.swatches for it in looked)])
            name = f"{reads} of 3 read, {'together' if together else 'alone'}"
            print(name, "sheets, swatches:", np.mean(took, axis=0).round(1))
            for kind, found in rows.items():
                errors, bounds = np.array(found).T
                print("  ", kind, len(errors), spread(errors), f"{np.mean(errors <= bounds):.3f}")


def all_read(files, asked):
    """Print how near the aim comes where all pairs are read, by the pairs and sheets looked at."""
    found = {}
    for _, pairs, thing, seed in settings(files, asked):
        rng = np.random.default_rng(seed)
        person, start = Person(thing, asked.eye, 0.0, 0.5, rng), off(thing, START, rng)
        looked = [
            Looked.of(it, np.random.default_rng([*seed, n]), is_read=True)
            for n, it in enumerate(pairs)
        ]
        seen = []
        for it in looked:
            it.look(*it.next_sheet(start, None), person)
            it.found = it.picked()
            seen.append((it, it.found))
            fused = weighed(seen)
            found.setdefault(f"{len(seen)} pairs, a sheet each", []).append(
                (float(delta_e_2000(fused.lab, thing)), fused.bound)
            )
        first = looked[0]
        first.look(*first.next_sheet(start, None), person)
        fused = weighed([(first, first.picked())])
        found.setdefault("1 pair, two sheets", []).append(
            (float(delta_e_2000(fused.lab, thing)), fused.bound)
        )
    print("3 of 3 read: the aim")
    for name, rows in found.items():
        errors, bounds = np.array(rows).T
        print("  ", name, len(errors), spread(errors), f"{np.mean(errors <= bounds):.3f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--eye", type=float, default=1.5, help="root mean square ΔE00 of a look")
    parser.add_argument("--quick", action="store_true", help="one profile, one thing: a smoke test")
    parser.add_argument("--aims", type=int, default=2, help="things for each three pairs")
    asked = parser.parse_args()
    files = asked.files or [path for path in INSTALLED if path.exists()]
    if not files:
        sys.exit("no files given, and none of the Debian packages' profiles is installed")
    if asked.quick:
        files, asked.aims = files[:1], 1
    misplaced(files)
    if not asked.quick:
        all_read(files, asked)
    not_all_read(files, asked)


if __name__ == "__main__":
    main()
