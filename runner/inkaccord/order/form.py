"""Mistakes of form in an order's file, in a designer's words, with the very line mended."""

import re
from collections.abc import Iterator

import yaml

from inkaccord.diagnostics import Diagnostic, Place, error

_UNSPACED = re.compile(r"^(?P<head>\s*(?:- )?)(?P<key>[A-Za-z][\w.-]*):(?P<value>[^\s:/].*)$")
_HASH_COLOUR = re.compile(r"(?:^|[\s\[,{:])(?P<code>#(?:[0-9a-fA-F]{6}|[0-9a-fA-F]{3}))\b")
_LONGEST = 500
"""Characters of a line that are looked at and shown; a longer one is no line of an order."""
_CURLY = re.compile("[“”„‟‘’]")
_SPACES = {"\u00a0": "no-break space", "\u2009": "thin space", "\u202f": "narrow space"}


def explain(problem: yaml.MarkedYAMLError, text: str, file: str) -> Diagnostic:
    """Say what is wrong with the form of a file.

    Parameters
    ----------
    problem
        What the YAML reader stumbled over, which is often further on than the mistake.
    text
        The file.
    file
        Its name, for the place.
    """
    lines = [line[:_LONGEST] for line in text.splitlines()] or [""]
    for mark, said, hint in _causes(problem, lines):
        place = Place(file=file, line=mark[0] + 1, column=mark[1] + 1)
        return error("bad-yaml", said, place=place, hint=hint)
    mark = _at(problem.problem_mark or problem.context_mark, lines)
    return error(
        "bad-yaml",
        f"this can't be read as YAML: {_line(lines, mark[0]).strip()!r}",
        place=Place(file=file, line=mark[0] + 1, column=mark[1] + 1),
        hint="check indentation, colons and quotes here and in the line above",
    )


def hash_colour(lines: list[str], row: int) -> str | None:
    """Return the colour code that a line holds where YAML takes it for a remark."""
    line = re.sub(r"'[^']*'|\"[^\"]*\"", "", _line(lines, row))
    found = _HASH_COLOUR.search(line)
    # Behind another # it stands in a remark, as it should.
    return found["code"] if found and "#" not in line[: found.start("code")] else None


def quote_hash(code: str) -> tuple[str, str]:
    """Return what is wrong with a bare ``#FFE873``, and its mend."""
    return (
        f"'{code}' has no quotes, and what stands behind # is a remark to YAML",
        f'write it in quotes: "{code}"',
    )


Cause = tuple[tuple[int, int], str, str]


def _causes(problem: yaml.MarkedYAMLError, lines: list[str]) -> Iterator[Cause]:
    """Yield what may be meant, the surest first: (row, column), what is wrong, how to mend it."""
    said, context = str(problem.problem or ""), str(problem.context or "")
    here = _at(problem.problem_mark or problem.context_mark, lines)
    start = _at(problem.context_mark or problem.problem_mark, lines)
    rows = dict.fromkeys((here[0], start[0]))
    # What is not seen may stand in a line that was still read.
    for row in dict.fromkeys((*rows, *(row - 1 for row in rows))):
        line = _line(lines, row)
        indent = line[: len(line) - len(line.lstrip())]
        if "\t" in indent or ("\\t" in said and "\t" in line):
            column = line.index("\t")
            yield (row, column), "a tab stands here, which YAML doesn't read", "put spaces instead"
        for space, name in _SPACES.items():
            if space in indent:
                yield (
                    (row, line.index(space)),
                    f"the line begins with a {name}, as copying from a page brings along",
                    "put plain spaces instead",
                )
        code = hash_colour(lines, row)
        if code:
            yield (row, line.index(code)), *quote_hash(code)
    if "scanning a quoted scalar" in context:
        yield start, f"the quote {_char(lines, start)} is not closed", "close it on the same line"
        return
    for row in rows:
        unspaced = _UNSPACED.match(_line(lines, row))
        if unspaced:
            yield (
                (row, unspaced.end("key")),
                "a space is missing after the colon",
                f"write {unspaced['key']}: {unspaced['value'].strip()}",
            )
    for row in rows:
        hyphen = re.match(r"\s*-(?=[^\s-])", _line(lines, row))
        if hyphen:
            yield (
                (row, hyphen.end() - 1),
                "a space is missing after the hyphen",
                f"write - {_line(lines, row)[hyphen.end() :].strip()}",
            )
    for row in rows:
        mended = _quoted(_line(lines, row))
        if mended:
            column = here[1] if row == here[0] else 0
            yield (row, column), _why_quotes(mended[1]), f"write {mended[0].strip()}"
    if "mapping values are not allowed" in said:
        yield from _stray_colon(here, lines)
    if "could not find expected ':'" in said:
        yield (
            start,
            f"a colon is missing in {_line(lines, start[0]).strip()!r}",
            (f"write {_line(lines, start[0]).strip()}:"),
        )
    if "flow" in context:
        opening = _char(lines, start)
        closing = {"[": "]", "{": "}"}.get(opening)
        what = f"what opens with '{opening}' here" if closing else "what opens before this"
        yield (
            start,
            f"{what} is not closed, or a comma is missing in it",
            f"close it with {f'{closing!r}' if closing else 'its bracket'}, and part its entries "
            "by commas",
        )
    if "block" in context:
        yield (
            here,
            "this line doesn't stand under its neighbours: its indentation is another",
            "lines that belong together begin in one column",
        )


def _stray_colon(here: tuple[int, int], lines: list[str]) -> Iterator[Cause]:
    """Two keys on one line, or a line before that lacks its colon."""
    row = here[0] - 1
    while row >= 0 and not _line(lines, row).split("#")[0].strip():
        row -= 1
    above = _line(lines, row).split(" #")[0] if row >= 0 else ""
    if above.strip() and ":" not in above:
        yield (
            (row, len(above) - len(above.lstrip())),
            f"a colon is missing after {above.strip()!r}",
            f"write {above.strip()}:",
        )
    elif row >= 0:
        yield (
            here,
            "this line is indented under a line that already has its value",
            "lines that belong together begin in one column",
        )


def _why_quotes(text: str) -> str:
    if re.search(r":(\s|$)", text):
        return "a text that holds a colon needs quotes"
    if text[0] in "@`%*&!|>?":
        return f"a text that begins with {text[0]} needs quotes"
    return "this text needs double quotes, round all of it"


def _quoted(line: str) -> tuple[str, str] | None:
    """Return a line with quotes round the one text that keeps YAML from reading it, and that text.

    Every mend is tried on YAML itself before it is offered.
    """
    body = line.rstrip()
    if not body.strip() or _reads(body):
        return None
    for head in re.finditer(r"(?:^\s*|[\[{,]\s*)(?:- )?[\w.-]+:\s+|^\s*- |[\[,]\s*", body):
        remark = re.search(r"\s+#", body)
        whole = remark.start() if remark else len(body)
        ends = [whole, *(it.start() for it in re.finditer(r"[,\]}]", body[:whole]))]
        inside = body[: head.end()]
        flowing = inside.count("[") + inside.count("{") > inside.count("]") + inside.count("}")
        for end in sorted({end for end in ends if end > head.end()}, reverse=not flowing):
            text = body[head.end() : end].strip()
            tried = body[: head.end()] + _in_quotes(text) + body[end:]
            if text and text[0] not in "[{" and _reads(tried):
                return tried, text
    return None


def _in_quotes(text: str) -> str:
    text = _CURLY.sub(lambda it: '"' if it[0] in "“”„‟" else "'", text)
    if text[0] == text[-1] and text[0] in "'\"" and len(text) > 1:
        text = text[1:-1]
    text = text.strip('"')
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _reads(line: str) -> bool:
    try:
        node = yaml.compose(line.strip(), Loader=yaml.SafeLoader)
    except yaml.YAMLError:
        return False
    return node is not None


def _at(mark: yaml.Mark | None, lines: list[str]) -> tuple[int, int]:
    """Return row and column of a mark; the end of the last line that holds something, after it."""
    if mark is None:
        return 0, 0
    row, column = mark.line, mark.column
    while row > 0 and not _line(lines, row).strip():
        row -= 1
        column = len(_line(lines, row).rstrip())
    return row, column


def _line(lines: list[str], row: int) -> str:
    return lines[row] if 0 <= row < len(lines) else ""


def _char(lines: list[str], at: tuple[int, int]) -> str:
    return _line(lines, at[0])[at[1] : at[1] + 1]
