"""Find the operators that matter in a content stream without parsing the rest.

One compiled pattern runs over the bytes. Everything that can't concern colour (paths, text,
strings, comments, dictionaries) is passed over inside the regular-expression engine, with
possessive quantifiers so that it never looks back; only an operator that was asked for comes
back to Python, with its operands. Nothing is decoded and nothing is written anew, so what is
not replaced stays byte for byte.

The lexical rules are those of ISO 32000-2, 7.2; ``0k`` (a number that runs into an operator) is
read as renderers do, as number and operator.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from inkaccord.artwork.content.operators import (
    COLOUR_OPERATORS,
    FULL_OPERATORS,
    LEAN_OPERATORS,
    NAMED_OPERATORS,
    PAINT_OPERATORS,
)
from inkaccord.pdf.entries import unescaped

SPACE = rb"\x00\t\n\x0c\r "
DELIMITERS = rb"()<>\[\]{}/%"
_REGULAR = rb"[^" + SPACE + DELIMITERS + rb"]"
_END = rb"(?![^" + SPACE + DELIMITERS + rb"])"
_NUMBERS = rb"[0-9.+\-" + SPACE + rb"]*+(?:%[^\r\n]*+[0-9.+\-" + SPACE + rb"]*+)*+"
_BLANK = rb"[" + SPACE + rb"]*+(?:%[^\r\n]*+[" + SPACE + rb"]*+)*+"

_NAME_TAIL = _NUMBERS
"""Between a name and its operator: blanks, or the size in ``/F1 12 Tf``."""

_FAST_LETTERS = b"mlcvyhWnwJjMi"
_STRING_INNER = rb"(?:[^()\\]++|\\.|\((?:[^()\\]++|\\.|\((?:[^()\\]++|\\.)*+\))*+\))*+"
_COMMENT = re.compile(rb"%[^\r\n]*+")
_BLANKS = re.compile(_BLANK)
_DICT_TOKEN = re.compile(
    rb"\((?:[^()\\]++|\\.)*+\)|\(|<<|>>|<[^<>]*+>|%[^\r\n]*+|[^<>()%]++|.", re.S
)
_STRING_EDGE = re.compile(rb"[()]|\\.", re.S)
_IMAGE_DATA = re.compile(
    rb"\((?:[^()\\]++|\\.)*+\)|(?<![^" + SPACE + DELIMITERS + rb"])(ID)(?:\r\n|[" + SPACE + rb"])",
    re.S,
)
_IMAGE_END = re.compile(rb"(?<=[" + SPACE + rb"])EI" + _END)


@lru_cache(maxsize=8)
def pattern_for(operators: frozenset[bytes]) -> re.Pattern[bytes]:
    """Return the pattern that stops at these operators.

    Group 1 is the operands with the operator, 2 the numbers, 3 the name, 4 the operator;
    group 5 is a construct that the pattern alone can't pass over (deep string, dictionary).
    A match without groups is the end of the data.
    """
    words = sorted(map(re.escape, operators), reverse=True)
    wanted = rb"(?:" + rb"|".join(words) + rb")" + _END
    named = b"|".join(sorted(NAMED_OPERATORS & operators, reverse=True))
    skip_name = rb"/" + _REGULAR + rb"*+"
    if named:
        skip_name += rb"(?!" + _NAME_TAIL + rb"(?:" + named + rb")" + _END + rb")"
    fast = bytes(letter for letter in _FAST_LETTERS if bytes([letter]) not in operators)
    skip = (
        rb"(?:"
        + _NUMBERS
        + rb"(?:["
        + fast
        + rb"](?=[ \n\r])|re(?=[ \n\r])|(?!"
        + wanted
        + rb")[^0-9.+\-"
        + SPACE
        + DELIMITERS
        + rb"]"
        + _REGULAR
        + rb"*+|"
        + skip_name
        + rb"|\("
        + _STRING_INNER
        + rb"\)|<(?!<)[^<>]*+>|<<[^<>()%]*+>>|[\[\]{}>)]|<(?![<])))*+"
    )
    tail = (
        rb"(?:(("
        + _NUMBERS
        + rb")(/"
        + _REGULAR
        + rb"*+"
        + _NAME_TAIL
        + rb")?("
        + wanted
        + rb"))|"
        + _NUMBERS
        + rb"(\(|<<)|"
        + _NUMBERS
        + rb"\Z)"
    )
    return re.compile(skip + tail, re.S)


def after_string(data: bytes, start: int) -> int:
    """Return the position after the literal string that opens at ``start``."""
    depth = 0
    for edge in _STRING_EDGE.finditer(data, start):
        if edge[0] == b"(":
            depth += 1
        elif edge[0] == b")":
            depth -= 1
            if depth == 0:
                return edge.end()
    return len(data)


def after_dictionary(data: bytes, start: int) -> int:
    """Return the position after the dictionary that opens at ``start``."""
    depth = 0
    position = start
    while position < len(data):
        token = _DICT_TOKEN.match(data, position)
        if token is None:  # pragma: no cover - the pattern matches any byte
            break
        text = token[0]
        position = token.end()
        if text == b"<<":
            depth += 1
        elif text == b">>":
            depth -= 1
            if depth == 0:
                return position
        elif text == b"(":
            position = after_string(data, token.start())
    return position


def after_construct(data: bytes, start: int) -> int:
    """Return the position after the string or dictionary that opens at ``start``."""
    return after_string(data, start) if data[start] == ord("(") else after_dictionary(data, start)


@dataclass(frozen=True, slots=True)
class InlineImage:
    """Where the parts of an inline image stand in its stream."""

    header: tuple[int, int]
    """The entries between BI and ID."""
    data: tuple[int, int]
    end: int
    """After EI."""
    is_mask: bool
    """Whether it is painted in the current colour, and has none of its own."""


def inline_image(data: bytes, after_bi: int) -> InlineImage | None:
    """Return the parts of the inline image whose BI ends at ``after_bi``; None if it never ends.

    Sample data can hold any bytes, also ``EI``: as common readers do, an EI counts only when it
    stands alone and what follows looks like a content stream.
    """
    head = next((one for one in _IMAGE_DATA.finditer(data, after_bi) if one[1]), None)
    if head is None:
        return None
    start = head.end()
    place, header = (after_bi, head.start()), data[after_bi : head.start()]
    is_mask = _HEADER_MASK.search(header) is not None
    size = _plain_size(header, is_mask=is_mask)
    if size is not None:
        end = _CLOSE_END.match(data, start + size)
        if end is not None:
            return InlineImage(place, (start, start + size), end.end(), is_mask)
    for end in _IMAGE_END.finditer(data, start):
        if _plausible(data, end.end()):
            return InlineImage(place, (start, end.start() - 1), end.end(), is_mask)
    return None


_CLOSE_END = re.compile(rb"[" + SPACE + rb"]*+EI" + _END)
_HEADER_NUMBER = re.compile(rb"/(W|Width|H|Height|BPC|BitsPerComponent)[" + SPACE + rb"]*+([0-9]+)")
_HEADER_SPACE = re.compile(
    rb"/(?:CS|ColorSpace)[" + SPACE + rb"]*+(?:/(Device)?(G|Gray|RGB|CMYK)" + _END + rb"|(\[))"
)
_HEADER_FILTER = re.compile(rb"/(?:F|Filter)[" + SPACE + rb"]*+[/\[]")
_HEADER_MASK = re.compile(rb"/(?:IM|ImageMask)[" + SPACE + rb"]++true")


def _plain_size(header: bytes, *, is_mask: bool) -> int | None:
    """Return how many bytes the samples take, if they are not packed and the header says so."""
    if _HEADER_FILTER.search(header):
        return None
    numbers = {one[1][:1]: int(one[2]) for one in _HEADER_NUMBER.finditer(header)}
    space = _HEADER_SPACE.search(header)
    if is_mask:
        components, numbers[b"B"] = 1, 1
    elif space is None:
        return None
    else:
        components = 1 if space[3] else {b"R": 3, b"C": 4}.get(space[2][:1], 1)
    if set(numbers) != {b"W", b"H", b"B"}:
        return None
    return (numbers[b"W"] * components * numbers[b"B"] + 7) // 8 * numbers[b"H"]


_PLAUSIBLE_TOKEN = re.compile(
    rb"[" + SPACE + rb"]*+(?:(/" + _REGULAR + rb"*+|[0-9.+\-]++)|([A-Za-z'\"][A-Za-z0-9*]*+)|"
    rb"([\[\]]|\((?:[^()\\]++|\\.)*+\)|<[^<>]*+>|<<|>>|%[^\r\n]*+)|(\Z)|(.))",
    re.S,
)
_KNOWN = frozenset(
    b"b B b* B* BDC BI BMC BT BX c cm CS cs d d0 d1 Do DP EMC ET EX f F f* G g gs h i "
    b"j J K k l m M MP n q Q re RG rg ri S s SC sc SCN scn sh T* Tc Td TD Tf TJ Tj TL Tm Tr "
    b"Ts Tw Tz v w W W* y ' \" true false null".split()
)


def _plausible(data: bytes, position: int) -> bool:
    for _ in range(12):
        token = _PLAUSIBLE_TOKEN.match(data, position)
        if token is None or token[5] is not None:
            return False
        if token[4] is not None:
            return True
        if token[2] is not None:
            return token[2] in _KNOWN
        position = token.end()
    return True


def blank_before(token: bytes) -> bytes:
    """Return the blanks and comments before the first operand of an operator."""
    found = _BLANKS.match(token)
    return found[0] if found is not None else b""


def numbers_in(text: bytes) -> tuple[float, ...] | None:
    """Return the operands in ``text`` (numbers, blanks, comments); None if one is malformed.

    The pattern lets only digits, signs and points through, so that what ``float`` takes is a
    number for PDF too.
    """
    if b"%" in text:
        text = _COMMENT.sub(b" ", text)
    try:
        return tuple(map(float, text.replace(b"\0", b" ").split()))
    except ValueError:
        return None


_DIGITS = re.compile(rb"[0-9]++\.?[0-9]*+|\.[0-9]++")


def loose_readings(text: bytes) -> tuple[tuple[float, ...], ...]:
    """Return what readers may take malformed operands for; nothing if none is malformed.

    Of ``0.6-0.3`` or ``0.3.`` some read the first number, others every one; all differ about signs,
    which no colour needs. (Seen in three renderers.)
    """
    if numbers_in(text) is not None:
        return ()
    words = [
        _DIGITS.findall(word) for word in _COMMENT.sub(b" ", text).replace(b"\0", b" ").split()
    ]
    first = tuple(float(found[0]) for found in words if found)
    return first, tuple(float(one) for found in words for one in found)


def name_in(text: bytes) -> str:
    """Return the name object in ``text`` (``/CS#30`` and any blanks after) as ``/CS0``."""
    raw = re.split(rb"[\x00\t\n\x0c\r %]", text, maxsplit=1)[0]
    return unescaped(raw).decode("utf-8", "surrogateescape")


@dataclass(frozen=True, slots=True)
class Operator:
    """One operator that was looked for."""

    start: int
    """Of its first operand that the operator's own run holds, blanks before it not counted."""
    end: int
    name: str | None
    numbers: tuple[float, ...] | None
    word: bytes
    image: InlineImage | None = None


def operators(
    data: bytes, wanted: frozenset[bytes] = LEAN_OPERATORS, start: int = 0
) -> Iterator[Operator]:
    """Yield the wanted operators of a content stream with their operands and places.

    The convenient form of the scanner, for proofs and tests; the rewriter drives the pattern
    itself (:mod:`inkaccord.artwork.content.interpreter`).
    """
    pattern = pattern_for(wanted)
    position = start
    while True:
        jump = -1
        for match in pattern.finditer(data, position):
            word = match[4]
            if word is None:
                if match[5] is None:
                    return
                jump = after_construct(data, match.start(5))
                break
            image = None
            end = match.end()
            if word == b"BI":
                image = inline_image(data, end)
                jump = end = image.end if image else len(data)
            blank = _BLANKS.match(data, match.start(1))
            yield Operator(
                start=blank.end() if blank else match.start(1),
                end=end,
                name=name_in(match[3]) if match[3] is not None else None,
                numbers=numbers_in(match[2]),
                word=word,
                image=image,
            )
            if jump >= 0:
                break
        if jump < 0 or jump >= len(data):
            return
        position = jump


def paints_before_setting(data: bytes, start: int, *, fill: bool) -> bool:
    """Tell whether content paints from ``start`` on before its fill, or stroke, is set anew."""
    set_anew = [False]
    """In each state that is open."""
    for one in operators(data, FULL_OPERATORS, start):
        if one.word == b"q":
            set_anew.append(set_anew[-1])
        elif one.word == b"Q":
            set_anew.pop()
        elif one.word in COLOUR_OPERATORS and one.word.islower() is fill:
            set_anew[-1] = True
        elif not set_anew[-1] and _paints(one, fill=fill):
            return True
        if not set_anew or set_anew == [True]:
            return False
    return False


def _paints(one: Operator, *, fill: bool) -> bool:
    if one.word in PAINT_OPERATORS:
        fills, strokes, text = PAINT_OPERATORS[one.word]
        return text or (fills if fill else strokes)
    return one.word == b"Do" or (one.image is not None and one.image.is_mask and fill)
