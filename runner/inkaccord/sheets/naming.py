"""Ids that can be read aloud: of rows, swatches and sheets.

No letter I or O anywhere, so a 1 or 0 is always a digit; sheet ids have no 1 and 0 either, and
no vowels, so that none spells a word.
"""

import hashlib
import re

_ROW_LETTERS = "ABCDEFGHJKLMNPQRSTUVWYZ"  # without I and O; X is for the controls
_FIRST = "BCDFGHJKLMNPQRSTVWXYZ"
_REST = _FIRST + "23456789"
_ID_LENGTH = 6


def row_name(number: int) -> str:
    """Return the letters of a row counted from 0: A to Z, AA to ZZ, AAA and on."""
    letters = ""
    number += 1
    while number:
        number, digit = divmod(number - 1, len(_ROW_LETTERS))
        letters = _ROW_LETTERS[digit] + letters
    return letters


def row_number(swatch_id: str) -> int:
    """Return the row, from 0, that a swatch id such as ``B7`` names."""
    number = 0
    for letter in swatch_id.rstrip("0123456789"):
        number = number * len(_ROW_LETTERS) + _ROW_LETTERS.index(letter) + 1
    return number - 1


def spoken(sheet_id: str) -> str:
    """Return a sheet's id as it is compared, however it is written: ``k7q xm3`` is ``K7QXM3``."""
    return re.sub(r"[\s_.–-]", "", sheet_id).upper()


def sheet_name(content: str) -> str:
    """Return the sheet id, such as ``K7Q-XM3``, that follows from a sheet's content.

    21 · 29⁵ ids: two of a thousand sheets collide with a chance of about 1 in 900.
    """
    number = int.from_bytes(hashlib.sha256(content.encode()).digest()[:16])
    number, digit = divmod(number, len(_FIRST))
    letters = _FIRST[digit]
    while len(letters) < _ID_LENGTH:
        number, digit = divmod(number, len(_REST))
        letters += _REST[digit]
    return f"{letters[:3]}-{letters[3:]}"
