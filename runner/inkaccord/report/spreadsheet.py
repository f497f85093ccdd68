"""Tables for spreadsheets and books: RFC 4180, and nothing in them acts."""

import csv
import io
from collections.abc import Iterable, Sequence


def csv_bytes(head: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """Return a table as CSV (RFC 4180), in UTF-8 with the mark that spreadsheets need.

    A cell that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\r\n")
    write.writerow(head)
    write.writerows([_plain(cell) for cell in row] for row in rows)
    return b"\xef\xbb\xbf" + out.getvalue().encode()


def _plain(cell: object) -> str:
    words = "" if cell is None else str(cell)
    return f"'{words}" if words[:1] in tuple("=+-@\t\r") else words
