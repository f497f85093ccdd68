"""What tests in a browser share: what axe-core finds there, files chosen by keys."""

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def axe_findings(page: "Page") -> list[str]:
    """Return what axe-core finds wrong, after it looked at enough; the test is skipped without."""
    if os.environ.get("CI") != "true":
        pytest.importorskip("axe_playwright_python", reason="pip install inkaccord[test]")
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, options={"runOnly": RULES}).response
    assert len(found["passes"]) > 15
    return [
        f"{rule['id']}: {rule['help']}: {node['html'][:200]}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


def choose_files_by_keys(page: "Page", files: Sequence[Path]) -> None:
    """Open the choice of files that has the focus by the space bar, and choose.

    A page that was drawn a moment ago may let the first key go; a person presses it again.
    """
    from playwright.sync_api import TimeoutError as Waited

    for last in (False, False, True):
        try:
            with page.expect_file_chooser(timeout=30_000 if last else 5_000) as asked:
                page.keyboard.press("Space")
        except Waited:
            if last:
                raise
        else:
            asked.value.set_files(files)
            return
