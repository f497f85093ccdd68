"""Every code that the checks can tell stands in the documentation, and none that they cannot."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[3]
SOURCES = ROOT / "runner" / "inkaccord" / "artwork"
_CODE = re.compile(r'"([a-z]+(?:-[a-z0-9]+)+)"')
_TOLD_IN = [
    *(SOURCES / "preflight").glob("*.py"),
    *(SOURCES / "marks").glob("*.py"),
    SOURCES / "finishing" / "bleed.py",
    SOURCES / "finishing" / "groups.py",
    SOURCES / "finishing" / "layers.py",
    SOURCES / "finishing" / "outlines.py",
    SOURCES / "photographs" / "translate.py",
    SOURCES / "two_plates.py",
    SOURCES.parent / "pdf" / "boxes.py",
]
_NOT_CODES = {"royal-mail", "utf-8", "latin-1"}


def test_codes_and_documentation_agree() -> None:
    told: set[str] = set()
    for path in _TOLD_IN:
        told |= set(_CODE.findall(path.read_text(encoding="utf-8"))) - _NOT_CODES
    page = (ROOT / "docs" / "artwork-checks.md").read_text(encoding="utf-8")
    documented = set(re.findall(r"`([a-z]+(?:-[a-z0-9]+)+)`", page)) - {"area-unclear"}
    assert told == documented
