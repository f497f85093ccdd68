"""Make the picture of the page from the real page: ``python docs/make_page_pictures.py``.

Chromium must be installed, and the packages of the tests (Playwright drives it).
"""

import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from make_pictures import ROOT, row, save
from PIL import Image
from playwright.sync_api import Page, sync_playwright

PROGRAM = [sys.executable, "-m", "inkaccord.cli.main"]
EXAMPLE, SHEET = "members_evening", "D35-NKP"
HIGH = 664
"""CSS pixels: what lies below names a folder of the machine."""


@contextmanager
def opened(studio: Path) -> Iterator[str]:
    """Open the page on a folder; give its address."""
    words = [*PROGRAM, "open", str(studio), "--no-browser"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            yield process.stdout.readline().strip()
        finally:
            process.terminate()


def photograph(page: Page, place: Path, width: int, height: int) -> Image.Image:
    """Return the window as it stands."""
    page.set_viewport_size({"width": width, "height": height})
    page.screenshot(path=place)
    return Image.open(place).convert("RGB")


def main() -> None:
    """Run the example, open it, and photograph an order and a look."""
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        studio, shot = Path(name) / "studio", Path(name) / "shot.png"
        for part in (EXAMPLE, "artwork"):
            shutil.copytree(
                ROOT / "jobs_example" / part, studio / part, ignore=shutil.ignore_patterns("out")
            )
        subprocess.run([*PROGRAM, "-q", "run", studio / EXAMPLE], check=True, capture_output=True)
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        with opened(studio) as address:
            page = browser.new_page(color_scheme="light")
            page.goto(address)
            found = re.search(r'class="order" href="([^"]+)"', page.content())
            assert found is not None
            at = address.partition("/?")[0] + found[1]
            page.goto(at)
            order = photograph(page, shot, 1000, HIGH)
            page.goto(f"{at}/look/{SHEET}?by=Ada&light=window")
            look = photograph(page, shot, 390, HIGH)
        browser.close()
    save(row([order, look]), "page.png")


if __name__ == "__main__":
    main()
