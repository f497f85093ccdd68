"""Answers chosen on the page, written into the order file as a person would write them."""

import re
from pathlib import Path

from inkaccord.errors import OrderError
from inkaccord.files import sha256_of, write_if_changed
from inkaccord.order.loading import load_order
from inkaccord.run.plan import Answer, Choice
from inkaccord.web.studio import OrderOnPage


def answer_in_file(order: OrderOnPage, step: str, choice: str) -> None:
    """Write the lines of a choice of a step (both by their number) into an order's file.

    The lines stand at the left edge, behind all others; where a field is there already its line is
    changed. Comments and order of the rest stay. Raises OrderError when the file was changed since
    it was asked, or would not load any more; then nothing is written.
    """
    chosen = _chosen(order, step, choice)
    path = order.path
    old = path.read_bytes()
    if order.run is None or sha256_of(old) != order.run.order_sha256:
        raise OrderError.of(
            "order-changed",
            "the order file was changed since this was asked",
            hint="run the order again, and answer what it asks then",
        )
    new = _with(old.decode("utf-8"), chosen.answers)
    _check(path, new, order)
    write_if_changed(path, new.encode())


def _chosen(order: OrderOnPage, step: str, choice: str) -> Choice:
    steps = order.run.next if order.run is not None else ()
    try:
        return steps[int(step)].choices[int(choice)]
    except (ValueError, IndexError):
        raise OrderError.of(
            "no-such-choice", "that is not asked any more", hint="look at what is asked now"
        ) from None


def _with(text: str, answers: tuple[Answer, ...]) -> str:
    lines = text.splitlines(keepends=True)
    end = "\r\n" if lines and lines[0].endswith("\r\n") else "\n"
    for answer in answers:
        if answer.replaces is None:
            if lines and not lines[-1].endswith(("\n", "\r")):
                lines[-1] += end
            lines.append(answer.line + end)
        else:
            lines[answer.replaces - 1] = answer.line + end
    return "".join(lines)


def _check(path: Path, text: str, order: OrderOnPage) -> None:
    """Load what is about to be written, from beside the file: its paths start from there."""
    trial = path.with_name(f".{re.sub(r'[^a-z0-9]', '', order.key)}.yaml")
    try:
        trial.write_text(text, "utf-8", newline="")
        load_order(trial, order.plugins.vendor_kinds())
    finally:
        trial.unlink(missing_ok=True)
