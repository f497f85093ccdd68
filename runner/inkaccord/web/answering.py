"""What the page writes into an order file: a choice, as a person would, or the text typed."""

from collections.abc import Sequence

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import OrderError
from inkaccord.files import read_bytes, sha256_of, write_if_changed
from inkaccord.order.loading import load_order
from inkaccord.planning.answers import line_of
from inkaccord.run.plan import Answer, Choice
from inkaccord.web.studio import OrderOnPage
from inkaccord.web.undoing import Doing


def answer_in_file(order: OrderOnPage, step: str, choice: str, why: str) -> None:
    """Write the lines of a choice of a step (both by their number) into an order's file.

    Where a line says why, a reason that was typed stands for ours.

    The lines stand at the left edge, behind all others; where a field is there already its line is
    changed. Comments and order of the rest stay. Raises as :func:`save`, and OrderError
    ``no-such-choice`` for what is not asked any more.
    """
    chosen = _chosen(order, step, choice)
    text = order.path.read_bytes().decode("utf-8")
    was = order.run.order_sha256 if order.run is not None else ""
    save(order, _with(text, [_for(why, it) for it in chosen.answers]), was)


def save(
    order: OrderOnPage, text: str, was: str, *, only_check: bool = False
) -> tuple[Diagnostic, ...]:
    """Write an order's file anew, and return what is worth saying of it.

    Parameters
    ----------
    was
        SHA-256 of the file that the text was made from.
    only_check
        Leave the file as it is.

    Raises
    ------
    InkaccordError
        With every mistake in the text; ``order-changed`` where the file is not what it was. Then
        nothing is written.
    """
    if order.sha256 != was and text != order.text:  # what was sent twice is kept already
        raise _changed_elsewhere("copy what you typed, open the page again, and put it in")
    end = "\r\n" if b"\r\n" in order.path.read_bytes() else "\n"
    typed = end.join(text.replace("\r\n", "\n").split("\n")).encode()
    loaded = load_order(order.path, order.plugins.vendor_kinds(), typed)
    if not only_check:
        write_if_changed(order.path, typed)
    return loaded.findings


def order_text(order: OrderOnPage) -> bytes:
    """Return an order's file as it stands now."""
    return read_bytes(order.path)


def done_in_file(changed: OrderOnPage, before: bytes, words: str, at: str) -> Doing:
    """Return the change of an order's file as a doing on a page, to be taken back and done again.

    Either raises OrderError ``order-changed`` where the file was changed once more since.
    """
    written = sha256_of(order_text(changed))

    def put_back() -> Doing:
        now = order_text(changed)
        if sha256_of(now) != written:
            raise _changed_elsewhere("what was changed since would be lost: change it in the text")
        write_if_changed(changed.path, before)
        return done_in_file(changed, now, "The order file is as it was before.", at)

    return Doing(words, at, put_back)


def _changed_elsewhere(hint: str) -> OrderError:
    return OrderError.of(
        "order-changed", "the order file was changed elsewhere meanwhile", hint=hint
    )


def _chosen(order: OrderOnPage, step: str, choice: str) -> Choice:
    steps = order.run.next if order.run is not None else ()
    try:
        return steps[int(step)].choices[int(choice)]
    except (ValueError, IndexError):
        raise OrderError.of(
            "no-such-choice", "that is not asked any more", hint="look at what is asked now"
        ) from None


def _for(why: str, answer: Answer) -> Answer:
    """Return an answer with a reason that was typed, where it gives one."""
    if not why or not answer.gives_reason:
        return answer
    value = {**answer.value, "why": why}
    return answer.model_copy(update={"value": value, "line": line_of(answer.field, value)})


def _with(text: str, answers: Sequence[Answer]) -> str:
    lines = text.splitlines(keepends=True)
    for answer in answers:
        if answer.replaces is None:
            if lines and not lines[-1].endswith(("\n", "\r")):
                lines[-1] += "\n"
            lines.append(answer.line + "\n")
        else:
            lines[answer.replaces - 1] = answer.line + "\n"
    return "".join(lines)
