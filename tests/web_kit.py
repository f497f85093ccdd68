"""The page as a person has it: the command in a process of its own, a browser's requests to it."""

import asyncio
import atexit
import http.client
import subprocess
import sys
import time
from collections.abc import Callable, Coroutine, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import repeat
from pathlib import Path
from typing import Any
from urllib.parse import urlencode, urlsplit

from starlette.types import Message

from artwork_kit import document
from inkaccord.cli.shared import Settings
from inkaccord.sheets.model import SampleSheet
from inkaccord.shelf.store import Shelf
from inkaccord.web.app import make_app
from inkaccord.web.gate import Start
from inkaccord.web.running import Commands
from inkaccord.web.studio import Studio
from inkaccord.web.uploads import Uploads
from recording_kit import keep_three_pairs
from run_kit import inkaccord, run_of, tags_order

ORDER = tags_order(
    "cmyk 85 20 60 30",
    "tag: {artwork: tag.pdf, trim: 100pt x 100pt, device: press, stock: card}",
).replace("{lab: [40, -22, 4]}", "{by_eye: a dried leaf}")


@dataclass
class Answer:
    """What came back."""

    status: int
    headers: Mapping[str, str]
    text: str
    data: bytes = b""


@dataclass
class OpenPage:
    """A page that was opened on a folder."""

    address: str
    folder: Path

    @property
    def host(self) -> str:
        return urlsplit(self.address).netloc

    @property
    def cookie(self) -> str:
        key = urlsplit(self.address).query.removeprefix("key=")
        return f"inkaccord-{self.host.partition(':')[2]}={key}"

    @property
    def order(self) -> str:
        """The address of its first order."""
        return self.get("/").text.partition('class="order" href="')[2].partition('"')[0]

    def get(self, path: str, **headers: str) -> Answer:
        return self.ask("GET", path, headers=headers)

    def post(self, path: str, fields: Mapping[str, str], **headers: str) -> Answer:
        form = {"Content-Type": "application/x-www-form-urlencoded", **headers}
        return self.ask("POST", path, urlencode(fields).encode(), headers=form)

    def ask_slowly(self, method: str, path: str, fields: Mapping[str, str]) -> Answer:
        """Ask for what may take a minute."""
        form = {"Content-Type": "application/x-www-form-urlencoded"}
        return self.ask(method, path, urlencode(fields).encode(), form, patience=90)

    def ask(
        self,
        method: str,
        path: str,
        body: bytes = b"",
        headers: Mapping[str, str] | None = None,
        patience: float = 30,
    ) -> Answer:
        """Ask as our own page in a browser would, but for the headers that are given."""
        usual = {"Host": self.host, "Cookie": self.cookie, "Origin": f"http://{self.host}"}
        connection = http.client.HTTPConnection(self.host, timeout=patience)
        try:
            connection.request(method, path, body, {**usual, **(headers or {})})
            answer = connection.getresponse()
            data = answer.read()
            text = data.decode(errors="replace")
            return Answer(answer.status, dict(answer.headers), text, data)
        finally:
            connection.close()


def sheet_of_run(opened: OpenPage) -> str:
    """The first sheet that the last run of the order asks for."""
    return str(run_of(opened.folder / "tags")["samples"][0]["id"])


def value_on(page: str, name: str) -> str:
    """The value of the first field or button of a name on a page; empty where it has none."""
    return page.partition(f'name="{name}" value="')[2].partition('"')[0]


def once_known(ask: Callable[[], Answer]) -> str:
    """Ask again, as the page does, until the artwork was looked through."""
    for _ in range(1200):
        shown = ask().text
        if "data-again" not in shown:
            return shown
        time.sleep(0.05)
    raise AssertionError("the artwork is still being looked through after a minute")


def upload(opened: OpenPage, path: str, *files: bytes, **fields: str) -> Answer:
    """Drop files, each with a name that means no good, with what was typed beside them."""
    named = [("file", f"../read-{number}.txt", data) for number, data in enumerate(files)]
    return send_form(opened, path, fields, named)


def send_form(
    opened: OpenPage,
    path: str,
    fields: Mapping[str, str],
    files: Iterable[tuple[str, str, bytes]],
) -> Answer:
    """Send a form as a browser does; a file by its field, its name, and what it holds."""
    parts = [f'name="{name}"\r\n\r\n{it}'.encode() for name, it in fields.items()]
    parts += [
        f'name="{field}"; filename="{name}"\r\n\r\n'.encode() + data for field, name, data in files
    ]
    body = b"".join(b"--edge\r\nContent-Disposition: form-data; " + it + b"\r\n" for it in parts)
    kind = {"Content-Type": "multipart/form-data; boundary=edge"}
    return opened.ask("POST", path, body + b"--edge--\r\n", headers=kind)


class PageHere(OpenPage):
    """A page in this process, asked without a network: for what is watched or ended from within."""

    def __init__(self, folder: Path) -> None:
        self._start = Start(1)
        super().__init__(self._start.address, folder)
        studio = Studio(folder, Settings().drawing)
        uploads = Uploads()
        atexit.register(uploads.close)  # it ends with the tests, as a page's own with the page
        self._app = make_app(studio, Commands(), uploads, self._start)

    def ask(
        self,
        method: str,
        path: str,
        body: bytes = b"",
        headers: Mapping[str, str] | None = None,
        breaks_off: bool = False,
    ) -> Answer:
        """Ask; ``breaks_off`` where the browser is closed after so much of the body."""
        usual = {"Host": self.host, "Cookie": self.cookie, "Origin": f"http://{self.host}"}
        address, _, query = path.partition("?")
        sent = {**usual, **(headers or {}), "Content-Length": str(len(body))}
        scope = {
            "type": "http",
            "client": ("127.0.0.1", 1),
            "method": method,
            "path": address,
            "query_string": query.encode(),
            "headers": [(name.lower().encode(), value.encode()) for name, value in sent.items()],
        }
        said: list[Message] = []
        part: Message = {"type": "http.request", "body": body, "more_body": breaks_off}
        parts = iter([part, {"type": "http.disconnect"}] if breaks_off else repeat(part))

        async def receive() -> Message:
            return next(parts)

        async def send(message: Message) -> None:
            said.append(message)

        ended(self._app(scope, receive, send))
        told = {name.decode(): value.decode() for name, value in said[0]["headers"]}
        data = b"".join(it.get("body", b"") for it in said)
        return Answer(said[0]["status"], told, data.decode(errors="replace"), data)


def ended(task: Coroutine[Any, Any, Any]) -> Any:
    """Run a task to its end, in a thread of its own: a browser keeps a loop in the tests' one."""
    with ThreadPoolExecutor(1) as thread:
        return thread.submit(asyncio.run, task).result()


def studio(folder: Path) -> Path:
    """Fill a folder with one order that waits for looks once it was run; return the order's."""
    order = folder / "tags"
    order.mkdir()
    (order / "order.yaml").write_text(ORDER, "utf-8")
    (order / "tag.pdf").write_bytes(document(b"0.85 0.2 0.6 0.3 k 20 20 60 60 re f"))
    return order


def open_waiting(folder: Path) -> Iterator[OpenPage]:
    """Open the page on an order that was run once, and waits for looks."""
    assert inkaccord("run", studio(folder))[0] == 3
    yield from open_page(folder)


THREE_PAIRS = ("laser@kraft", "jet@plain", "laser@card")
"""Of a shelf in tests: one in CMYK and one in RGB that are read, one whose sheet waits."""


def open_on_three_pairs(folder: Path, *sheets: SampleSheet) -> Iterator[OpenPage]:
    """Open the page on an order whose shelf knows three pairs, and has some sheets more."""
    with Shelf.open(studio(folder) / "shelf.sqlite") as kept:
        keep_three_pairs(kept, THREE_PAIRS[:2], THREE_PAIRS[2])
        for sheet in sheets:
            kept.add_sheet(sheet)
    yield from open_page(folder)


def open_page(folder: Path, *more: str, under: Sequence[str] = ()) -> Iterator[OpenPage]:
    """Open the page on a folder; ``under`` is a command that starts it with limits of its own."""
    words = [
        *under,
        sys.executable,
        "-m",
        "inkaccord.cli.main",
        "open",
        str(folder),
        "--no-browser",
        *more,
    ]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            yield OpenPage(process.stdout.readline().strip(), folder)
        finally:
            process.terminate()
            process.wait(20)
