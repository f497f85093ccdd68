"""What takes long is not waited for: it is found out beside, and had later."""

import threading
import time

import pytest

from inkaccord.errors import FileError
from inkaccord.recall.recall import NotYet
from inkaccord.recall.recent import Recent
from inkaccord.recall.soon import Soon

GO_ON = threading.Event()


def quick(text: str) -> str:
    return text * 2


def slow(text: str) -> str:
    assert GO_ON.wait(20)
    if text == "broken":
        raise FileError.of("broken", "it can't be looked at")
    return text * 3


def found(soon: Soon, text: str) -> str:
    """Ask until it is known."""
    for _ in range(2000):
        try:
            return soon(slow, text)
        except NotYet:
            time.sleep(0.01)
    raise AssertionError("it is never found out")


def test_it_says_not_yet_until_it_is_known_and_then_what_came_of_it() -> None:
    GO_ON.clear()
    soon = Soon(Recent(10), {slow}, 10)
    assert soon(quick, "a") == "aa"
    with pytest.raises(NotYet):
        soon(slow, "a")
    GO_ON.set()
    assert found(soon, "a") == "aaa"
    with pytest.raises(FileError, match="it can't be looked at"):
        found(soon, "broken")
    with pytest.raises(FileError):
        soon(slow, "broken")
    soon.close()


def test_what_nobody_asks_for_any_more_is_not_begun() -> None:
    GO_ON.clear()
    soon = Soon(Recent(10), {slow}, 10)
    for text in ("a", "broken", "c"):
        with pytest.raises(NotYet):
            soon(slow, text)
    glance = soon.glance()  # the first goes on by now
    assert (glance(quick, "a"), glance.is_short) == ("aa", False)
    with pytest.raises(NotYet):
        glance(slow, "c")
    assert glance.is_short
    GO_ON.set()
    assert found(soon, "c") == "ccc"
    soon.close()
