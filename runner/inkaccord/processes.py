"""Worker processes of this machine, as an executor."""

import contextlib
import os
import signal
import threading
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from multiprocessing.connection import Connection


class Processes(ProcessPoolExecutor):
    """Worker processes that end with us, whatever we die of, and at once when we are done."""

    def __init__(self, workers: int) -> None:
        context = get_context("spawn")  # the same on every system, and safe beside threads
        theirs, self._lifeline = context.Pipe(duplex=False)
        super().__init__(workers, context, _begin, (theirs,))
        # All at once: one that is started while another has died is in the way of the thread that
        # counts them, which falls over it. There is no public way.
        self._safe_to_dynamically_spawn_children = False

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """End them, whatever they are doing."""
        if self._result_queue is not None:
            # Of a worker that ends while it writes there is half a result, and whoever reads it
            # waits for the rest for as long as anybody could write that: we, too. There is no
            # public way.
            self._result_queue._writer.close()  # type: ignore[attr-defined]  # noqa: SLF001
        super().shutdown(wait, cancel_futures=cancel_futures)
        self._lifeline.close()


def _begin(lifeline: Connection) -> None:
    """Prepare a worker: Ctrl-C is for whoever asks, and it ends when nobody does any more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with, args=(lifeline,), daemon=True).start()


def _end_with(lifeline: Connection) -> None:
    with contextlib.suppress(EOFError, OSError):
        lifeline.recv_bytes()
    os._exit(0)
