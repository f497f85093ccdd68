"""Colours as people write them in numbers: ``cmyk 2,8,45,0``, ``C2 M8 Y45 K0``, ``#FFE873``."""

import re

from inkaccord.written import number, numbers, plain

_LETTERS = {"cmyk": "cmyk", "rgb": "rgb", "lab": "lab"}
_COUNTS = {"cmyk": 4, "rgb": 3, "lab": 3, "gray": 1}
_WORDS = {"grey": "gray", "cielab": "lab", "grayscale": "gray", "greyscale": "gray", "hex": "rgb"}
_WORD = re.compile(
    r"(?P<word>cmyk|rgb|gr[ae]yscale|gr[ae]y|cielab|lab|hex)(?![a-z])[\s:=]*(?P<rest>.*)", re.S
)
_OWN = re.compile(r"(cmyk|rgb|gray|lab)((?: -?\d+(?:\.\d+)?)+)")
"""How we write them ourselves, thousands of times on a shelf."""
_HEX = re.compile(r"#(?P<digits>[0-9a-f]{6}|[0-9a-f]{3})")
_N = r"[-+]?(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_LETTERED = (
    re.compile(rf"(?P<letter>[a-z])\*?\s*[:=]?\s*(?P<number>{_N})\s*%?[\s,;/|]*"),
    re.compile(rf"(?P<number>{_N})\s*%?\s*(?P<letter>[a-z])\*?[\s,;/|]*"),
)


def colour_numbers(text: str) -> tuple[str, tuple[float, ...]] | None:
    """Read the numbers of a colour.

    Parameters
    ----------
    text
        ``cmyk 85 20 60 30``, with commas, slashes or percent signs; ``C85 M20 Y60 K30``, where an
        ink that is not named is 0; four bare numbers, which only CMYK has; ``rgb 12 34 56`` or
        ``R12 G34 B56``, 0 to 255; ``#FFE873``, sRGB's way of writing the same; ``gray 50``;
        ``lab 42 58 30`` or ``L42 a58 b30``.

    Returns
    -------
    tuple, or None
        The space, ``cmyk``, ``rgb``, ``gray`` or ``lab``, and its numbers, which may be too many,
        too few or out of range. None for anything else.
    """
    own = _OWN.fullmatch(text)
    if own:
        return own[1], tuple(map(float, own[2].split()))
    given = plain(text).lower()
    worded = _WORD.fullmatch(given)
    space = _WORDS.get(worded["word"], worded["word"]) if worded else None
    rest = worded["rest"].strip() if worded else given
    if rest.startswith("(") and rest.endswith(")"):
        rest = rest[1:-1]
    code = _HEX.fullmatch(rest)
    if code and space in {None, "rgb"}:
        digits = code["digits"] if len(code["digits"]) == 6 else "".join(d * 2 for d in code[1])
        return "rgb", tuple(float(int(digits[n : n + 2], 16)) for n in (0, 2, 4))
    lettered = _lettered(rest, space)
    if lettered is not None:
        return lettered
    try:
        found = numbers(rest, _COUNTS.get(space or "cmyk", 4))
    except ValueError:
        return None
    if space is None:
        return ("cmyk", found) if len(found) == 4 else None
    return space, found


def _lettered(text: str, space: str | None) -> tuple[str, tuple[float, ...]] | None:
    for pattern in _LETTERED:
        found = list(pattern.finditer(text))
        if not found or "".join(it[0] for it in found) != text:
            continue
        values = {it["letter"]: number(it["number"]) for it in found}
        if len(values) != len(found):
            return None
        for name, letters in _LETTERS.items():
            # An ink that isn't named isn't printed; light and CIELAB have no such nought.
            known = set(letters) >= values.keys()
            if name != "cmyk":
                known = known and len(values) == len(letters)
            if known and space in {None, name}:
                return name, tuple(values.get(letter, 0.0) for letter in letters)
    return None
