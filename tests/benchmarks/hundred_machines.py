"""What a hundred machines would do, and where it would stop: a simulation, from measured figures.

    python tests/benchmarks/hundred_machines.py [--orders N] [--json]

No hundred machines were ever at hand. Time here is counted, not waited for: a seat runs a batch of
orders as the command does (it reads the next ones ahead, two for each worker, hands them out, takes
them in their order, keeps each on the shelf and writes it), workers take what comes first, and what
is shared is waited for: the network of the seat's machine, the shelf, the store that artwork lies
in. What an order takes was measured on one machine, of ``scale.py``'s orders of five pieces; the
network, the store and how unlike orders are, are assumptions, and named so.
"""

import argparse
import heapq
import json
from collections import deque
from collections.abc import Generator
from dataclasses import dataclass, replace
from typing import TypedDict

import numpy as np

MACHINES = (1, 2, 4, 8, 16, 32, 64, 100)
SEATS = (1, 4, 16)


@dataclass(frozen=True)
class Figures:
    """What an order takes; seconds of one processor, bytes, and bytes a second.

    Attributes
    ----------
    ahead_s
        The seat reads an order ahead and hands it out.
    turn_s
        It reads it again when it is its turn.
    end_s
        It keeps and writes what came back.
    make_s
        A worker makes it.
    spread
        How unlike orders are: the standard deviation of the logarithm of ``make_s``. Assumed.
    artwork
        What is read of an order from the store, and sent out.
    result
        What comes back.
    write_s
        The shelf is held by one order's changes.
    network
        Of the seat's machine. Assumed: a gigabit a second, of which nine tenths carry something.
    store
        Of the place where artwork lies. Assumed: a disk on the network.
    """

    ahead_s: float = 0.027
    turn_s: float = 0.041
    end_s: float = 0.060
    make_s: float = 1.5
    spread: float = 0.5
    artwork: float = 0.18e6
    result: float = 3.9e6
    write_s: float = 0.003
    network: float = 112e6
    store: float = 100e6


class Simulated(TypedDict):
    """What came of one arrangement."""

    machines: int
    seats: int
    orders_an_hour: float
    gain: float
    workers_busy: float
    seat_busy: float
    shelf_busy: float
    network_busy: float
    store_busy: float


class Place:
    """Something that so many can use at once; the others wait in their order."""

    def __init__(self, room: int) -> None:
        self.room, self.free, self.used_s = room, room, 0.0
        self.waiting: deque[tuple[Steps, float]] = deque()


class Made:
    """Whether an order has come back, and who waits for it."""

    def __init__(self) -> None:
        self.there = False
        self.waits: Steps | None = None


Steps = Generator["tuple[Place, float] | Made", None, None]
"""Somebody's way through the day: a place and how long it is used, or an order to wait for."""


class Day:
    """The clock, and all who go their ways by it."""

    def __init__(self) -> None:
        self.now = 0.0
        self._number = 0
        self._coming: list[tuple[float, int, Steps, Place | None]] = []

    def begin(self, steps: Steps) -> None:
        """Let somebody go a way from now on."""
        self._at(self.now, steps, None)

    def came(self, made: Made) -> None:
        """Say that an order has come back."""
        made.there = True
        if made.waits is not None:
            self.begin(made.waits)

    def pass_by(self) -> None:
        """Go on until nobody has anything left to do."""
        while self._coming:
            self.now, _, steps, left = heapq.heappop(self._coming)
            if left is not None:
                self._leave(left)
            wanted = next(steps, None)
            if isinstance(wanted, Made):
                if wanted.there:
                    self.begin(steps)
                else:
                    wanted.waits = steps
            elif wanted is not None:
                self._use(*wanted, steps)

    def _at(self, when: float, steps: Steps, left: Place | None) -> None:
        self._number += 1
        heapq.heappush(self._coming, (when, self._number, steps, left))

    def _use(self, place: Place, seconds: float, steps: Steps) -> None:
        if not place.free:
            place.waiting.append((steps, seconds))
            return
        place.free -= 1
        place.used_s += seconds
        self._at(self.now + seconds, steps, place)

    def _leave(self, place: Place) -> None:
        place.free += 1
        if place.waiting:
            steps, seconds = place.waiting.popleft()
            self._use(place, seconds, steps)


@dataclass
class Seat:
    """One command that runs a batch: its own processor, network and workers, and what is shared."""

    day: Day
    figures: Figures
    workers: Place
    shelf: Place
    store: Place
    own: Place
    network: Place

    def batch(self, make_s: list[float]) -> Steps:
        """Run a batch of orders, as ``inkaccord run`` does."""
        figures, made, read = self.figures, [Made() for _ in make_s], 0
        for number in range(len(make_s)):
            while read < min(number + 2 * self.workers.room, len(make_s)):
                yield self.store, figures.artwork / figures.store
                yield self.own, figures.ahead_s
                self.day.begin(self.order(make_s[read], made[read]))
                read += 1
            yield self.own, figures.turn_s
            yield made[number]
            yield self.own, figures.end_s
            yield self.shelf, figures.write_s

    def order(self, make_s: float, made: Made) -> Steps:
        """Send one order to a worker, have it made, and bring it back."""
        yield self.network, self.figures.artwork / self.figures.network
        yield self.workers, make_s
        yield self.network, self.figures.result / self.figures.network
        self.day.came(made)


def simulated(figures: Figures, machines: int, seats: int, orders: int) -> Simulated:
    """Run so many orders at each of some seats, whose workers are so many machines in all."""
    day, shelf, store = Day(), Place(1), Place(1)
    rng = np.random.default_rng(1)
    every = []
    for number in range(seats):
        share = machines // seats + (number < machines % seats)
        seat = Seat(day, figures, Place(share), shelf, store, Place(1), Place(1))
        scale = figures.make_s * np.exp(-(figures.spread**2) / 2)
        day.begin(seat.batch((scale * rng.lognormal(0, figures.spread, orders)).tolist()))
        every.append(seat)
    day.pass_by()
    alone = figures.make_s + figures.turn_s + figures.end_s
    rate = seats * orders / day.now
    return Simulated(
        machines=machines,
        seats=seats,
        orders_an_hour=3600 * rate,
        gain=rate * alone,
        workers_busy=sum(it.workers.used_s for it in every) / machines / day.now,
        seat_busy=max(it.own.used_s for it in every) / day.now,
        shelf_busy=shelf.used_s / day.now,
        network_busy=max(it.network.used_s for it in every) / day.now,
        store_busy=store.used_s / day.now,
    )


def main() -> None:
    """Simulate and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--orders", type=int, default=2000, help="of each seat")
    parser.add_argument("--json", action="store_true")
    for name in Figures.__dataclass_fields__:
        parser.add_argument(f"--{name.replace('_', '-')}", type=float)
    asked = vars(parser.parse_args())
    given = {name: asked[name] for name in Figures.__dataclass_fields__ if asked[name] is not None}
    figures = replace(Figures(), **given)
    rows = [
        simulated(figures, machines, seats, asked["orders"])
        for seats in SEATS
        for machines in MACHINES
        if machines >= seats
    ]
    if asked["json"]:
        print(json.dumps(rows, indent=2))
        return
    print("seats machines  orders/h   times one   busy: workers  seat  shelf  network  store")
    for row in rows:
        print(
            f"{row['seats']:5d} {row['machines']:8d} {row['orders_an_hour']:9,.0f} "
            f"{row['gain']:10.1f} {row['workers_busy']:15.0%} {row['seat_busy']:5.0%} "
            f"{row['shelf_busy']:6.0%} {row['network_busy']:8.0%} {row['store_busy']:6.0%}"
        )


if __name__ == "__main__":
    main()
