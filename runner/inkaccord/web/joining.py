"""Other devices of the house: they join by a code that the screen shows, each with its own key.

A code is short, so that it can be typed on a telephone; therefore it serves once, for ten minutes
and five tries, and only a person at the screen makes another.
"""

import datetime
import ipaddress
import secrets
import socket
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from inkaccord.errors import OrderError

VALID = datetime.timedelta(minutes=10)
MOST_TRIES = 5
MOST_DEVICES = 12
DIGITS = 8


def utc_now() -> datetime.datetime:
    """Return this moment."""
    return datetime.datetime.now(datetime.UTC)


@dataclass(frozen=True)
class Joined:
    """A device that joined."""

    number: int
    name: str
    since: datetime.datetime


class Joining:
    """Who joined since the start, and the code by which the next one may.

    ``addresses`` are those of this machine in the house.
    """

    def __init__(
        self, addresses: tuple[str, ...], clock: Callable[[], datetime.datetime] = utc_now
    ) -> None:
        self.addresses = addresses
        self._clock = clock
        self._joined: dict[str, Joined] = {}
        self._count = 0
        self.renew()

    def renew(self) -> None:
        """Make another code; the one before serves no more."""
        self._code = f"{secrets.randbelow(10**DIGITS):0{DIGITS}}"
        self._until = self._clock() + VALID
        self._tries = 0

    @property
    def code(self) -> str | None:
        """The code as it is shown, in two groups; None for one that serves no more."""
        if self._tries >= MOST_TRIES or self._clock() >= self._until:
            return None
        return f"{self._code[:4]} {self._code[4:]}"

    @property
    def devices(self) -> tuple[Joined, ...]:
        """Who joined, the first one first."""
        return tuple(self._joined.values())

    def join(self, code: str, name: str) -> str:
        """Return the key of a device that says the code. Raises OrderError ``no-such-code``."""
        shown = self.code
        said = "".join(it for it in code if it in "0123456789")
        self._tries += 1
        if shown is None or not secrets.compare_digest(said, self._code):
            raise OrderError.of(
                "no-such-code",
                "that is not the code, or it serves no more",
                hint="look at the screen that it is shown on, and ask there for another one",
            )
        if len(self._joined) >= MOST_DEVICES:
            raise OrderError.of("too-many-devices", f"{MOST_DEVICES} devices have joined already")
        self.renew()
        self._count += 1
        key = secrets.token_urlsafe(32)
        self._joined[key] = Joined(self._count, name.strip()[:60] or "a device", self._clock())
        return key

    def takes(self, key: str | None) -> bool:
        """Tell whether a key is one of a device that joined."""
        return key is not None and any(
            secrets.compare_digest(key.encode(), known.encode()) for known in self._joined
        )

    def send_away(self, number: int) -> None:
        """Let a device in no more."""
        self._joined = {key: it for key, it in self._joined.items() if it.number != number}


def own_addresses() -> tuple[str, ...]:
    """Return this machine's addresses in the house, IPv4, the one that leads farthest first."""
    return tuple(
        dict.fromkeys(it for it in _addresses() if is_of_house(it) and not is_loopback(it))
    )


def is_of_house(address: str) -> bool:
    """Tell whether an address is this machine's or of a private network (RFC 1918, RFC 3927)."""
    try:
        return ipaddress.ip_address(address).is_private
    except ValueError:
        return False


def is_loopback(address: str) -> bool:
    """Tell whether an address is this machine's own."""
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return False


def _addresses() -> Iterator[str]:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(("192.0.2.1", 9))  # of RFC 5737, for documents: nothing is sent
            yield str(way.getsockname()[0])
        except OSError:  # no network
            pass
    try:
        for *_, address in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
            yield str(address[0])
    except OSError:
        return
