"""A simulated person: prints and reads what is asked, picks by eye, and answers questions.

Everything that is asked comes as steps of the run. A sheet is printed on a day and as a sheet of
its own: both change the device a little. An instrument repeats to 0.3 ΔE00; a scan errs by four
times as much, in part the same way all over the sheet. An eye errs by 1.5 ΔE00 (sure) to 3 (a
guess), root mean square; 0.8 of that is the same whenever this person looks at this thing.
"""

import datetime

import numpy as np
from drawn_orders import DATE
from invented_devices import State, wandering

from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.looks import look_error
from inkaccord.colour.picks import LOOKS_A_SHEET
from inkaccord.sheets.model import Pick, Reading, SheetReadings

DAY_GAIN, DAY_STRENGTH = 0.006, 0.008
SHEET_GAIN, SHEET_STRENGTH = 0.003, 0.004
"""Standard deviations: of coverage at half tone, of an ink's density."""
SWATCH_GAIN = 0.003
NOISE = {"instrument": 0.3, "scan": 1.2}
"""Root mean square ΔE00 of a reading; a scan states it as 1.3, since it can't see its own bias."""
SCAN_BIAS = 0.6
SHARED = 0.8
ALL_WRONG = 4.0
"""ΔE00 from which a person looks over the whole sheet, and says that none of the swatches is it."""
SITTINGS = 3
"""A person sits down to one sheet for a colour this often at most, for so many looks each time as
are asked for."""
FIELDS = ("picked_on", "accept_by_eye", "accept", "tolerance", "prefer", "stock")
"""What an answer sets in the order file."""
ALIKE = 0.5
"""How often a person who is offered to keep a colour alike on all pieces, or not, does so."""


def in_all_directions(lab, error, rng):
    """Return (n, 3) CIELAB moved by ``error`` ΔE00, root mean square, the same in every way."""
    stretch, axes = np.linalg.eigh(delta_e_2000_metric(lab))
    steps = rng.normal(size=lab.shape) * error / np.sqrt(3.0 * stretch)
    return lab + np.einsum("nij,nj->ni", axes, steps)


class Person:
    """Who printed what on which day, read and picked it.

    Attributes
    ----------
    printed
        id → sheet, of everything that was printed for this order.
    """

    def __init__(self, drawn, shelf):
        self.drawn, self.shelf = drawn, shelf
        self.printed, self._labs, self._read, self._sat = {}, {}, set(), {}
        self._weighed = set()

    def print_sheet(self, sheet, visit, *, before=False):
        """Print a sheet, and read or pick on it what can be read or picked there.

        ``before``: for an earlier order, 400 days ago, before any drift.
        """
        drawn, pair = self.drawn, sheet.pair
        day = wandering(drawn.generator("day", visit, pair.device), DAY_GAIN, DAY_STRENGTH)
        rng = drawn.generator("sheet", sheet.id)
        state = day.then(wandering(rng, SHEET_GAIN, SHEET_STRENGTH))
        builds = np.array([swatch.build.values for swatch in sheet.swatches])
        each = State(rng.normal(0, SWATCH_GAIN, (len(builds), 4)))
        stock, device = drawn.papers[pair.stock], drawn.devices[pair.device]
        state = state.then(each) if before else drawn.drifted(pair.device, state.then(each))
        self._labs[sheet.id] = device.lab(builds, stock, state)
        self.printed[sheet.id] = sheet
        if drawn.reads:
            self.read(sheet.id, visit, before=before)
        if not before:
            groups = dict.fromkeys(swatch.colour for swatch in sheet.swatches)
            for colour in groups:
                if colour and "by_eye" in drawn.data["colours"][colour]["aim"]:
                    self.pick(sheet.id, colour, visit)

    def read(self, sheet_id, visit, *, before=False):
        """Read a printed sheet. Return whether that gave anything new."""
        drawn = self.drawn
        if not drawn.reads or sheet_id in self._read or sheet_id not in self.printed:
            return False
        self._read.add(sheet_id)
        rng = drawn.generator("read", sheet_id)
        noise = NOISE[drawn.reads]
        lab = in_all_directions(self._labs[sheet_id], noise, rng)
        stated = noise
        if drawn.reads == "scan":
            bias = rng.normal(0, SCAN_BIAS, (2, 3))
            lab = lab + bias[0] + bias[1] * (lab[:, :1] - 50) / 50
            stated = 1.3
        lab = np.clip(lab, [0, -127, -127], [100, 127, 127]).round(2)
        day = DATE - datetime.timedelta(400) if before else DATE + datetime.timedelta(3 * visit)
        self.shelf.record_readings(
            SheetReadings(
                sheet=sheet_id,
                readings=tuple(
                    Reading(swatch=swatch.id, lab=tuple(row))
                    for swatch, row in zip(
                        self.printed[sheet_id].swatches, lab.tolist(), strict=True
                    )
                ),
                noise=stated,
                read_on=day,
            )
        )
        return True

    def pick(self, sheet_id, colour, visit):
        """Look as often as is asked for, and name the swatches that are nearest to a thing.

        Return whether these are new looks.
        """
        drawn = self.drawn
        sitting = self._sat.setdefault((sheet_id, colour), 0)
        if sheet_id not in self.printed or sitting >= SITTINGS or drawn.things.get(colour) is None:
            return False
        self._sat[sheet_id, colour] += 1
        sheet, labs = self.printed[sheet_id], self._labs[sheet_id]
        group = [at for at, it in enumerate(sheet.swatches) if it.colour == colour]
        for turn in range(1, LOOKS_A_SHEET + 1):
            seen = self.seen(colour, "look", sheet_id, sitting, turn)
            apart = delta_e_2000(labs, seen)
            order = sorted(group or range(len(apart)), key=lambda at: apart[at])
            if apart[order[0]] > ALL_WRONG:  # then perhaps another swatch of the sheet
                order = np.argsort(apart, kind="stable").tolist()
            right = apart[order[0]] <= ALL_WRONG
            self.shelf.record_picks(
                [
                    Pick(
                        sheet=sheet_id,
                        colour=colour,
                        swatch=sheet.swatches[order[0]].id,
                        then=sheet.swatches[order[1]].id,
                        sure=drawn.sure if right else 0.0,
                        picked_on=DATE + datetime.timedelta(3 * visit + sitting),
                        turn=turn if turn > 1 else None,
                    )
                ]
            )
        return True

    def seen(self, colour, *look):
        """Return the CIELAB that the person takes a thing for at one look."""
        drawn = self.drawn
        thing = drawn.things[colour][None]
        thing = in_all_directions(thing, SHARED, drawn.generator("eye", colour))
        error = np.sqrt(look_error(drawn.sure) ** 2 - SHARED**2)
        return in_all_directions(thing, error, drawn.generator("eye", colour, *look))[0]

    def choose(self, step):
        """Return the choice that a sensible person makes, and do what it asks beside writing."""
        by_field = {}
        for choice in step.choices:
            field = choice.answers[0].field if choice.answers else ()
            by_field.setdefault(next((it for it in FIELDS if it in field), ""), []).append(choice)
        if "picked_on" in by_field:
            return self._nearest(step.colours[0], by_field["picked_on"])
        if "accept_by_eye" in by_field:
            read = [self.read(sheet, 0) for sheet in self.printed if sheet in str(step.choices)]
            return by_field[""][0] if any(read) else by_field["accept_by_eye"][0]
        colour = step.colours[0]
        rng = self.drawn.generator("taste", colour)
        if "prefer" in by_field and colour not in self._weighed and rng.random() < ALIKE:
            self._weighed.add(colour)  # nobody goes back and forth between the two
            return by_field["prefer"][0]
        dark = step.pair is not None and step.pair.stock.startswith("kraft")
        if "tolerance" in by_field and not dark:
            return by_field["tolerance"][0]
        return by_field["accept"][0]

    def _nearest(self, colour, choices):
        """Look once more at swatches, and return the choice that names the nearest."""
        seen = self.seen(colour, "last look")

        def apart(choice):
            sheet, swatch = str(choice.answers[0].value).split()
            ids = [it.id for it in self.printed[sheet].swatches]
            return float(delta_e_2000(self._labs[sheet][ids.index(swatch)], seen))

        return min(choices, key=apart)
