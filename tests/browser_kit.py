"""What axe-core finds on a page in a browser."""

import os
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
