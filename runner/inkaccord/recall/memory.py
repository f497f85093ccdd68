"""The private memory of an out folder: what runs computed, in one file that may be deleted.

It is never needed for a right result. What is damaged, odd or of another version of the program is
not recalled but computed; what the last few runs did not ask for is forgotten. Two runs at once do
each other no harm: each reads what there is, and writes what it has learned at its end.
"""

import contextlib
import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache, partial
from itertools import pairwise
from pathlib import Path
from typing import Any, get_origin, get_type_hints

from inkaccord.engines import Engine
from inkaccord.errors import InkaccordError
from inkaccord.recall.digests import digest_of, digest_of_code
from inkaccord.recall.memory_file import MOST_BYTES, HeldResults, MemoryFile, inputs_key
from inkaccord.recall.packing import fields_of, pack, unpack
from inkaccord.recall.recall import P, R, Together


class Memory:
    """What the runs into one out folder computed. It is a :class:`Recall`.

    Parameters
    ----------
    path
        The file, or what it held. It is read when it is first needed, and written by :meth:`save`.
        None for what is remembered as long as the program runs.
    besides
        What results depend on besides the program and its libraries, such as other programs.
    engine
        Where what is computed ahead is computed; None for here.
    shared
        What the orders before computed, where many are run in one go.
    """

    def __init__(
        self,
        path: "Path | HeldResults | None",
        besides: str = "",
        engine: Engine | None = None,
        shared: "MemoryFile | HeldResults | None" = None,
    ) -> None:
        self._besides = besides
        self._engine = engine
        self._known: dict[str, Any] = {}
        self._new: dict[str, bytes] = {}
        self._asked_too: list[str] = []
        """By another one, which learned for us."""
        self._digests: dict[int, tuple[object, str]] = {}
        """By identity, with the value itself, so that its identity stays its own."""
        self._file = MemoryFile(path) if isinstance(path, Path) else path
        self._shared = shared

    def __call__(self, function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
        """Return what ``function(*args, **kwargs)`` returns, computed once."""
        key = self._key(function, args, kwargs)
        if not self._knows(key, function):
            self._learn(key, function(*args, **kwargs))
        result: R = self._known[key]
        return result

    def ahead(self, calls: Iterable[partial[R]], together: Together[R] | None = None) -> None:
        """Compute at once what is not known yet of many calls that are going to be asked for."""
        engine = self._engine
        if together is None and (engine is None or not engine.takes(len(calls := tuple(calls)))):
            return
        keys = {self._key(call.func, call.args, call.keywords): call for call in calls}
        new = {key: call for key, call in keys.items() if not self._knows(key, call.func)}
        for key, packed in zip(new, self._packed(list(new.values()), together), strict=True):
            if packed is not None:
                self._keep_unless_odd(key, packed)

    def rehearse(self, way: Callable[..., object], calls: Iterable[tuple[Any, ...]]) -> None:
        """Go a way at once that is going to be gone with many arguments, to know what it asks."""
        engine = self._engine
        if engine is None or not engine.takes(len(calls := tuple(calls))):
            return
        keys = {f"way {self._key(way, call, {})}": call for call in calls}
        new = {key: call for key, call in keys.items() if not self._knows(key, _gone)}
        if not engine.takes(len(new)):
            return
        done = engine.results(learned_on, [(way, call, self._besides) for call in new.values()])
        for key, learned in zip(new, done, strict=True):
            if learned is not None:
                self._learn(key, _gone())
                for part, packed in learned.items():
                    self._keep_unless_odd(part, packed)

    def _packed(
        self, calls: Sequence[partial[R]], together: Together[R] | None
    ) -> Iterator[bytes | None]:
        """Yield what calls give, packed, in their order; None for one to be done alone."""
        engine = self._engine
        if engine is not None and engine.takes(len(calls)):
            # What can be done together loses by being cut in more parts than there are workers.
            parts = engine.workers if together is not None else len(calls)
            cuts = [len(calls) * at // parts for at in range(parts + 1)]
            groups = [calls[a:b] for a, b in pairwise(cuts) if a < b]
            done = engine.results(packed_results, [(group, together) for group in groups])
            for group, results in zip(groups, done, strict=True):
                yield from results or [None] * len(group)
        elif together is not None and calls:
            yield from packed_results(calls, together)
        else:
            yield from [None] * len(calls)

    @property
    def learned(self) -> dict[str, bytes]:
        """What was not known before, packed, by key."""
        return self._new

    @property
    def asked(self) -> tuple[str, ...]:
        """The keys of all that was asked for."""
        return (*self._known, *self._asked_too)

    def take_over(self, learned: Mapping[str, bytes], asked: Iterable[str]) -> None:
        """Remember what another one learned and asked for, to be saved."""
        self._new.update(learned)
        self._asked_too.extend(asked)

    def keep_inputs(self, record: bytes, digests: str) -> None:
        """Keep the digests of what a run depended on beside its record."""
        key = inputs_key(record)
        self._known[key], self._new[key] = digests, digests.encode()

    def close(self) -> None:
        """Close the file, having written nothing."""
        for file in self._files():
            file.close()

    def save(self) -> None:
        """Write what is new, and forget what the last runs did not ask for.

        Where that can't be done nothing is lost but time.
        """
        self.close()
        for file in self._files() if self._known else ():
            file.write(self._new, self.asked)

    def _files(self) -> "list[MemoryFile | HeldResults]":
        return [it for it in (self._file, self._shared) if it is not None]

    def _knows(self, key: str, function: Callable[..., Any]) -> bool:
        if key not in self._known and (kept := self._kept(key, function)) is not None:
            self._known[key] = kept
        return key in self._known

    def _kept(self, key: str, function: Callable[..., Any]) -> Any:
        """Return what a file keeps under a key; None for nothing, or nothing sound."""
        for file in self._files():
            packed = self._new.get(key) or file.read(key)
            if packed is None:
                continue
            with contextlib.suppress(ValueError):
                value = unpack(packed)
                if _is_what_it_gives(function, value):
                    if file is self._shared:
                        self._new[key] = packed
                    return value
        return None

    def _learn(self, key: str, value: object) -> None:
        self._keep(key, pack(value))

    def _keep_unless_odd(self, key: str, packed: bytes) -> None:
        with contextlib.suppress(ValueError):  # a class that is not loaded here
            self._keep(key, packed)

    def _keep(self, key: str, packed: bytes) -> None:
        # Unpacked at once, so that what follows is the same whether it was recalled or not.
        self._known[key] = unpack(packed)
        if len(packed) < MOST_BYTES:
            self._new[key] = packed

    def _key(
        self, function: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> str:
        module = function.__module__
        parts = [f"{module}.{function.__qualname__}", digest_of_code(module), self._besides]
        parts += [self._digest(it) for it in args]
        parts += [f"{name}={self._digest(kwargs[name])}" for name in sorted(kwargs)]
        return hashlib.sha256("\0".join(parts).encode()).hexdigest()

    def _digest(self, value: object) -> str:
        if not (isinstance(value, bytes) or fields_of(value)):
            return digest_of(value)  # it may change, or is quickly told
        if id(value) not in self._digests:
            self._digests[id(value)] = value, digest_of(value)
        return self._digests[id(value)][1]


def packed_results(calls: Sequence[partial[R]], together: Together[R] | None) -> list[bytes | None]:
    """Return what calls give, packed; None for one that has to be done alone. It is a task."""
    if together is not None:
        values = together([call.args for call in calls])
    else:
        values = [_tried(call) for call in calls]
    return [None if value is None else pack(value) for value in values]


def learned_on(way: Callable[..., object], call: tuple[Any, ...], besides: str) -> dict[str, bytes]:
    """Go a way, and return what was learned on it by its keys. It is a task."""
    memory = Memory(None, besides)
    with contextlib.suppress(InkaccordError):  # it is gone again, and then it is said
        way(memory, *call)
    return memory.learned


def _gone() -> bool:
    return True


def _tried(call: partial[R]) -> R | None:
    try:
        return call()
    except Exception:  # noqa: BLE001 - it is asked for again, and then fails where it is heard
        return None


def _is_what_it_gives(function: Callable[..., Any], value: object) -> bool:
    """Tell whether a value is of the kind that a function says it returns."""
    kind = _kind_given(function)
    return not isinstance(kind, type) or isinstance(value, kind)


@lru_cache(maxsize=200)
def _kind_given(function: Callable[..., Any]) -> Any:
    """Return what a function says it returns; None where that can't be told."""
    try:
        said = get_type_hints(function).get("return")
    except NameError:
        return None  # it names a type that only a type checker loads
    return get_origin(said) or said
