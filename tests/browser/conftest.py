"""One headless Chromium for all tests of pages, and a report on disk for it to open."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from large_order_kit import large_desk
from outside import need_program
from report_kit import mid_flight
from web_kit import OpenPage

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


@pytest.fixture(scope="session")
def browser() -> "Iterator[Browser]":
    program = need_program("chromium")
    if os.environ.get("CI") != "true":
        pytest.importorskip("playwright", reason="pip install inkaccord[test]")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture
def quiet(browser: "Browser", opened: OpenPage) -> "Iterator[Page]":
    """A browser on the page that says nothing in its console and asks nobody else."""
    context = browser.new_context(bypass_csp=True)  # axe-core is a script that is not ours
    page, noise = context.new_page(), []
    page.on("console", lambda told: noise.append(told.text))
    page.on("pageerror", lambda problem: noise.append(str(problem)))
    page.on("request", lambda asked: asked.url.startswith((f"http://{opened.host}/", "data:"))
            or noise.append(asked.url))  # fmt: skip
    page.goto(opened.address)
    yield page
    context.close()
    assert noise == []


@pytest.fixture(scope="session")
def report_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    desk = mid_flight()
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(desk.html, encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def large_report_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("large") / "report.html"
    path.write_text(large_desk().html, encoding="utf-8")
    return path
