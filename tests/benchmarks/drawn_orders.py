"""Orders drawn at random, of ten kinds, with the devices that print them.

An order is what a YAML file would hold, the colours that each piece carries (what collecting the
artwork would find), and what only the simulation knows: the devices, the thing behind every aim,
what the person reads with. The same number gives the same order, whatever the program does with it.
"""

import datetime
from dataclasses import dataclass, field
from functools import cache, cached_property

import numpy as np
from invented_devices import PHYSICS, USUAL, Device, State, paper, wandering

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.run.collected import Collected, FoundAs, FoundColour, PieceArtwork

ORDER_KINDS = {
    "numbers": "CIELAB aims, white stock",
    "builds": "aims that are builds on a pair",
    "eye": "colours judged by eye, an instrument beside",
    "eye alone": "judged by eye, nobody reads",
    "out of reach": "colours that some pair can't print",
    "kraft": "kraft and tinted stock",
    "RGB": "devices behind drivers in RGB",
    "scan": "a scan instead of an instrument",
    "drift": "a device read long ago, that has drifted",
    "mixed": "a little of everything",
}
DATE = datetime.date(2026, 10, 5)
COLOURS = ("kelp", "lantern", "slate", "heron", "rust", "moss")
PIECES = (
    ("invitation", "5in x 7in"),
    ("reply-card", "5.5in x 4.25in"),
    ("programme", "5.5in x 8.5in"),
    ("tag", "2in x 3.5in"),
    ("menu", "4in x 9in"),
    ("place-card", "3.5in x 2in"),
    ("map", "5in x 5in"),
    ("label", "3in x 3in"),
    ("ticket", "2in x 5.5in"),
)
SHEETS = (("letter",), ("13x19",), ("a4",), ("letter", "13x19"))
STOCK_SIZES = ("letter", "13x19", "a4", "a3")
_TRIES, _SAMPLES = 24, 2500
_NEAR, _FAR = 2.5, 5.0
"""ΔE00 to the nearest of the samples: a colour that a pair reaches, and one that it doesn't."""


@dataclass
class DrawnOrder:
    """An order, and what only the simulation knows of it.

    Attributes
    ----------
    data
        What its YAML file holds.
    carries
        piece → its brand colours, largest area first.
    things
        colour → CIELAB of what is wanted; None where the aim is a build.
    pairs
        (device, stock) of every pair; ``devices`` and ``papers`` by name.
    reads
        'instrument', 'scan', or '' for a person who has neither.
    sure
        How sure the person's eye is, 0 to 1.
    known_before
        The device whose pairs were read 400 days ago, and how it has changed since.
    """

    number: int
    kind: str
    data: dict
    carries: dict
    things: dict
    pairs: list
    devices: dict
    papers: dict
    reads: str
    sure: float
    known_before: str = ""
    drift: State = USUAL
    features: list = field(default_factory=list)

    def generator(self, *name):
        """Return randomness of its own for a name, whatever was drawn before."""
        return np.random.default_rng([self.number, *" ".join(map(str, name)).encode()])

    def lab(self, device, stock, builds, state=USUAL):
        """Return the true CIELAB of builds on a pair, as it is since any drift."""
        return self.devices[device].lab(builds, self.papers[stock], self.drifted(device, state))

    def drifted(self, device, state=USUAL):
        return self.drift.then(state) if device == self.known_before else state

    @cached_property
    def collected(self):
        """What collecting the artwork would find."""
        return Collected(
            artworks=tuple(
                PieceArtwork(
                    piece=piece,
                    path=f"{piece}.pdf",
                    sha256="0" * 64,
                    pages=1,
                    photographs=0,
                    colours=tuple(
                        FoundColour(
                            text=self.data["colours"][colour]["in_artwork"][0],
                            paint=None,
                            found_as=FoundAs.BRAND,
                            colour=colour,
                            area_mm2=900.0 / (place + 1),
                            pages=(1,),
                        )
                        for place, colour in enumerate(colours)
                    ),
                )
                for piece, colours in self.carries.items()
            )
        )


def invented(drive, rng):
    """Return an invented device of any physics; drivers in RGB stand before dyes more often."""
    physics = "layer" if drive is Drive.RGB and rng.random() < 0.6 else str(rng.choice(PHYSICS))
    return Device(physics, drive, 400 if drive is Drive.RGB else ink_limit(rng), rng)


def ink_limit(rng):
    return int(rng.choice([240, 260, 280, 300]))


def draw_order(number, device=invented):
    """Draw an order; its number says which kind it is of.

    ``device`` makes a device of a drive and the order's randomness.
    """
    kind = list(ORDER_KINDS)[number % len(ORDER_KINDS)]
    rng = np.random.default_rng([2026, number])
    machines, papers, pairs = _pairs(kind, device, rng)
    envelopes = _envelopes(pairs, rng)
    pieces = _pieces(pairs, envelopes, rng)
    carries = _carries(list(pieces), rng)
    samples = {(device, on): _printed(machines[device], papers[on], rng) for device, on in pairs}
    colours, things = _colours(kind, carries, pieces, samples, machines, rng)
    known_before, drift = "", USUAL
    if kind == "drift" or (kind == "mixed" and rng.random() < 0.2):
        known_before = str(rng.choice(sorted({device for device, _ in pairs})))
        drift = wandering(rng, 0.03 * rng.uniform(0, 1.5), 0.05 * rng.uniform(0, 1.5))
    reads = {"eye alone": "", "scan": "scan"}.get(kind, "instrument")
    if kind == "mixed" and rng.random() < 0.25:
        reads = "scan"
    data = {
        "order": f"order-{number}",
        "date": DATE,
        "suites": int(rng.integers(20, 200)),
        "colours": colours,
        "keep": ["cmyk 0 0 0 100"],
        "stocks": _stocks(papers, envelopes, rng),
        "vendors": _vendors(machines, pairs, envelopes, known_before, rng),
        "pieces": pieces,
        "tolerances": {
            "between_pieces": float(rng.choice([2.0, 2.0, 2.5, 3.0])),
            "to_aim": float(rng.choice([3.5, 3.5, 3.0, 5.0])),
        },
    }
    if kind in {"out of reach", "mixed"} and rng.random() < 0.3:
        data["prefer"] = "alike"
    if kind == "eye alone" and rng.random() < 0.5:
        data["accept_by_eye"] = True
    return DrawnOrder(
        number=number,
        kind=kind,
        data=data,
        carries=carries,
        things=things,
        pairs=pairs,
        devices=machines,
        papers=papers,
        reads=reads,
        sure=float(rng.uniform()),
        known_before=known_before,
        drift=drift,
    )


def _pairs(kind, device, rng):
    """Draw two to six pairs of one to five devices with one to four stocks."""
    wanted = int(rng.integers(2, 7))
    rgb = {"RGB": 0.6, "mixed": 0.3, "eye alone": 0.3, "eye": 0.2}.get(kind, 0.1)
    machines = {}
    for at in range(int(rng.integers(max(1, wanted // 3), min(5, wanted) + 1))):
        by_rgb = rng.random() < rgb or (kind == "RGB" and at == 0)
        machines[f"device-{'abcde'[at]}"] = device(Drive.RGB if by_rgb else Drive.CMYK, rng)
    white = ["coated", "uncoated", "coated", "uncoated"]
    likely = ["coated", "uncoated", "tinted", "kraft"] if kind in {"mixed", "eye"} else white
    kinds = [str(rng.choice(likely)) for _ in range(4)]
    if kind == "kraft":
        kinds[:2] = ["kraft", str(rng.choice(["tinted", "kraft", "coated"]))]
    papers = {f"{it}-{at + 1}": paper(it, rng) for at, it in enumerate(kinds)}
    every = [(device, stock) for device in machines for stock in papers]
    first = [(device, list(papers)[at % 4]) for at, device in enumerate(machines)]
    more = [every[at] for at in rng.permutation(len(every)) if every[at] not in first]
    pairs = (first + more)[:wanted]
    return machines, {name: papers[name] for name in papers if name in {s for _, s in pairs}}, pairs


def _envelopes(pairs, rng):
    """Return the stocks that are envelopes: some of those that only one device prints on."""
    stocks = [stock for _, stock in pairs]
    once = [it for it in dict.fromkeys(stocks) if stocks.count(it) == 1]
    return {it for it in once if rng.random() < 0.2}


def _pieces(pairs, envelopes, rng):
    count = int(rng.integers(max(3, len(pairs)), 10))
    chosen = [PIECES[at] for at in rng.permutation(len(PIECES))[:count]]
    on = [*pairs, *(pairs[rng.integers(len(pairs))] for _ in range(count - len(pairs)))]
    return {
        name: {
            "artwork": f"{name}.pdf",
            "trim": "a7-envelope" if stock in envelopes else trim,
            "device": device,
            "stock": stock,
        }
        for (name, trim), (device, stock) in zip(chosen, on, strict=True)
    }


def _carries(pieces, rng):
    """Give each piece one to four colours, and each colour a piece."""
    colours = list(COLOURS[: rng.integers(2, 7)])
    carries = {}
    for piece in pieces:
        some = int(rng.integers(1, min(4, len(colours)) + 1))
        carries[piece] = [colours[at] for at in rng.permutation(len(colours))[:some]]
    for colour in colours:
        if not any(colour in it for it in carries.values()):
            carries[pieces[rng.integers(len(pieces))]].append(colour)
    return carries


def _printed(device, stock, rng):
    """Return builds as stationery uses them, and what they look like on a stock."""
    top, inks = (100, 4) if device.drive is Drive.CMYK else (255, 3)
    builds = rng.uniform(0, top, (_SAMPLES, inks))
    if device.drive is Drive.CMYK:
        builds[rng.random(_SAMPLES) < 0.5, 3] = 0
        builds[:, :3][rng.random((_SAMPLES, 3)) < 0.25] = 0
        builds = builds[builds.sum(axis=1) <= device.ink_limit]
    builds = np.round(builds)
    return builds, device.lab(builds, stock)


def _colours(kind, carries, pieces, samples, machines, rng):
    colours, things = {}, {}
    used = [it for it in COLOURS if any(it in found for found in carries.values())]
    for at, name in enumerate(used):
        on = list(
            dict.fromkeys(
                (pieces[piece]["device"], pieces[piece]["stock"])
                for piece, found in carries.items()
                if name in found
            )
        )
        pair, build, lab = _wanted(kind, at, on, samples, rng)
        drive = machines[pair[0]].drive
        aim, things[name] = _aim(kind, at, pair, build, drive, lab, rng)
        colours[name] = {"aim": aim, "in_artwork": [_artwork(at, lab, rng)]}
    return colours, things


def _wanted(kind, at, on, samples, rng):
    """Draw a colour that all its pairs reach; where the kind says so, one that some do not."""
    beyond = (
        (kind == "out of reach" and at < 2)
        or (kind == "kraft" and rng.random() < 0.4)
        or (kind in {"mixed", "eye", "eye alone"} and rng.random() < 0.15)
    )
    best, chosen = np.inf, None
    for _ in range(_TRIES):
        pair = on[rng.integers(len(on))]
        builds, labs = samples[pair]
        row = rng.integers(len(builds))
        gaps = [float(delta_e_2000(samples[it][1], labs[row]).min()) for it in on]
        worst = max(gaps)
        miss = max(0.0, _FAR - worst) if beyond else max(0.0, worst - _NEAR)
        if miss < best:
            best, chosen = miss, (pair, builds[row], labs[row])
        if miss == 0:
            break
    return chosen


def _aim(kind, at, pair, build, drive, lab, rng):
    by_eye = {"eye": 0.5, "eye alone": 1.0, "mixed": 0.25, "kraft": 0.2, "RGB": 0.15}.get(kind, 0)
    by_build = {"builds": 0.6, "mixed": 0.2, "out of reach": 0.2, "drift": 0.2}.get(kind, 0.0)
    if rng.random() < by_eye or (kind == "eye" and at == 0):
        return {"by_eye": "the thing on the table"}, lab
    if rng.random() < by_build or (kind == "builds" and at == 0):
        return {"build": _words(build, drive), "on": "@".join(pair)}, None
    lab = np.round(lab, 1)
    return {"lab": lab.tolist()}, lab


@cache
def _reference():
    """Return builds, and their look on the press that every artwork was made for."""
    rng = np.random.default_rng(2026)
    press = Device("studio", Drive.CMYK, 300, rng)
    return _printed(press, paper("coated", rng), rng)


def _artwork(at, lab, rng):
    """Return how the artwork writes a colour: as its press would print it, somewhat off."""
    builds, labs = _reference()
    inks = builds[int(np.argmin(delta_e_2000(labs, lab)))]
    inks = np.clip(np.round(inks * rng.uniform(0.85, 1.15, 4) + rng.normal(0, 3, 4)), 0, 100)
    inks[3] = round(inks[3] / 7) * 7 + at if inks[3] < 90 else 90 + at  # no two colours alike
    return _words(inks, Drive.CMYK)


def _words(values, drive):
    return str(Build(drive=drive, values=tuple(float(it) for it in values)))


def _stocks(papers, envelopes, rng):
    stocks = {}
    for name, it in papers.items():
        stock = {"size": str(rng.choice(STOCK_SIZES))}
        if name in envelopes:
            stock = {"kind": "envelope", "size": "a7-envelope"}
        if rng.random() < 0.7:
            stated = it.lab + rng.normal(0, 0.4, 3)
            stock["colour"] = [round(float(min(x, 100)), 1) for x in stated]
        stocks[name] = stock
    return stocks


def _vendors(machines, pairs, envelopes, known_before, rng):
    """Give every device a vendor; the kinds are those of the bundled plugins, or written out."""
    vendors = {}
    twins = _twins(machines, pairs, envelopes)
    if twins:
        cards, other = twins
        vendors["twin"] = {
            "kind": "jobbing-printer",
            "cards": {"device": cards, "sheets": ["13x19"], "ink_limit": machines[cards].ink_limit},
            "envelopes": {"device": other, "ink_limit": machines[other].ink_limit},
        }
    for name, it in machines.items():
        if name not in twins:
            anew = known_before == name and rng.random() < 0.4
            vendors[f"vendor-{name[-1]}"] = _vendor(name, it, anew, rng)
    return vendors


def _twins(machines, pairs, envelopes):
    """Return a press for cards and one that prints nothing but envelopes, where there are such."""
    presses = [name for name, it in machines.items() if it.drive is Drive.CMYK]
    for name in presses:
        if {stock for device, stock in pairs if device == name} <= envelopes:
            others = [it for it in presses if it != name]
            return (others[0], name) if others else ()
    return ()


def _vendor(name, it, anew, rng):
    sheets = list(SHEETS[rng.integers(len(SHEETS))])
    drifted = {"when_drifted": "new-sheet"} if anew else {}
    limit = {"ink_limit": it.ink_limit} if it.drive is Drive.CMYK else {}
    way = rng.random()
    if way < 0.4:
        kind = "desk-rgb" if it.drive is Drive.RGB else "desk-cmyk"
        return {"kind": kind, "device": name, "sheets": sheets, **limit, **drifted}
    if it.drive is Drive.CMYK and way < 0.65:
        return {"kind": "piece-shop", "device": name, **limit}
    return {
        "delivers": "sheets" if way < 0.8 else "pieces",
        "lead_days": int(rng.integers(0, 8)),
        "devices": {name: {"drive": str(it.drive), "sheets": sheets, **limit, **drifted}},
    }
