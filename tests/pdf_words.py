"""The text of a PDF, read by a program that isn't ours."""

import subprocess

from outside import need_program


def words_of(pdf: bytes) -> str:
    """Return the words of a PDF, single spaced, as poppler's pdftotext reads them."""
    program = need_program("pdftotext", "poppler-utils")
    told = subprocess.run(
        [program, "-layout", "-", "-"], input=pdf, capture_output=True, check=True
    ).stdout.decode()
    return " ".join(told.split())
