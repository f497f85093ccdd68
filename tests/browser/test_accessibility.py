"""Our pages under axe-core (Deque Systems), which checks what a machine can of WCAG 2.2, A and AA.

What axe-core calls incomplete, text beside pictures mostly, is measured in ``test_report_page.py``.
"""

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from browser_kit import axe_findings
from inkaccord.cli.main import run_main

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ARTWORK = Path(__file__).parents[2] / "jobs_example" / "artwork" / "programme.pdf"


@pytest.fixture(scope="module")
def inventory_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("inventory") / "colours.html"
    assert run_main(["-q", "colours", str(ARTWORK), "--picture", str(path), "--dpi", "72"]) == 0
    return path


@pytest.mark.slow
@pytest.mark.parametrize(
    ("which", "width", "scheme"),
    [
        ("report_path", 1400, "light"),
        ("report_path", 1400, "dark"),
        ("report_path", 360, "light"),
        ("inventory_path", 800, "light"),
    ],
)
def test_axe_core_finds_nothing(
    browser: "Browser", request: pytest.FixtureRequest, which: str, width: int, scheme: str
) -> None:
    path: Path = request.getfixturevalue(which)
    context = browser.new_context(
        viewport={"width": width, "height": 900},
        color_scheme="dark" if scheme == "dark" else "light",
        bypass_csp=True,  # our pages let no script run; axe-core is one
    )
    page = context.new_page()
    page.goto(path.as_uri())
    found = axe_findings(page)
    context.close()
    assert found == []


def test_no_sign_differs_from_another_in_colour_alone(
    browser: "Browser", report_path: Path
) -> None:
    """Seen without any colour, every sign of the legend still looks like no other."""
    context = browser.new_context(viewport={"width": 1400, "height": 900}, device_scale_factor=2)
    page = context.new_page()
    page.goto(report_path.as_uri())
    page.add_style_tag(content="html { filter: grayscale(1) contrast(9); }")
    signs = page.locator(".key .icon")
    pictures = {signs.nth(at).screenshot() for at in range(signs.count())}
    assert signs.count() == 5
    assert len(pictures) == 5
    context.close()
