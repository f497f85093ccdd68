"""The client's approval on an order's page: shown, taken down, taken back, and overtaken."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from artwork_kit import document
from inkaccord.order.diary import read_diary
from run_kit import inkaccord, record_all, run_of, tags_order
from web_kit import OpenPage, open_page, send_form, value_on

pytestmark = pytest.mark.slow  # whole runs


@pytest.fixture(scope="module")
def ready(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An order that is ready, and wants an approval before anything is sent."""
    order = tmp_path_factory.mktemp("ready") / "tags"
    order.mkdir()
    piece = "tag: {artwork: tag.pdf, trim: 100pt x 100pt, device: press, stock: card}"
    text = tags_order("cmyk 85 20 60 30", piece) + "approval_first: true\n"
    (order / "order.yaml").write_text(text, "utf-8")
    (order / "tag.pdf").write_bytes(document(b"0.85 0.2 0.6 0.3 k 20 20 60 60 re f"))
    assert inkaccord("run", order)[0] == 3
    record_all(order)
    assert inkaccord("run", order)[0] == 3
    return order


SIGNED = b"\x89PNG\r\n\x1a\n and the rest"


@pytest.fixture
def page(ready: Path, tmp_path: Path) -> Iterator[OpenPage]:
    """A page in a process of its own, since an approval starts a run there."""
    shutil.copytree(ready, tmp_path / "tags")
    yield from open_page(tmp_path)


def after_the_run(page: OpenPage, at: str) -> str:
    """What a page shows once the run that was started there has ended."""
    page.get(f"{page.order}/progress")
    return page.get(at).text


def test_it_is_taken_down_with_a_signed_page_and_taken_back(page: OpenPage) -> None:
    order = page.folder / "tags"
    shown = page.get(page.order).text
    digest = run_of(order)["shown"]
    code = f"{digest[:4]}-{digest[4:8]}".upper()
    assert f"code is <b>{code}</b>" in shown
    assert "No zip is made before the client approves" in shown
    assert "Save its zip" not in shown

    said = {"by": "Ada", "note": "with thanks", "code": code.lower()}
    answer = send_form(page, f"{page.order}/approve", said, [("scan", "../signed.png", SIGNED)])
    assert answer.status == 303, answer.text
    (approval,) = read_diary(order / "order.yaml").approvals
    assert (approval.by, approval.note) == ("Ada", "with thanks")
    assert (order / "approved" / f"{code}-signed-signed.png").read_bytes() == SIGNED
    after = after_the_run(page, answer.headers["location"])
    assert "<b>Approved</b> by Ada" in after
    assert "Changed since its last run" not in after
    assert "Save its zip" in after  # the run that followed has made it

    word = value_on(after, "word")
    assert page.post("/undo", {"word": word}).status == 303
    assert read_diary(order / "order.yaml").approvals == ()


def test_a_later_change_is_said(page: OpenPage) -> None:
    path = page.folder / "tags" / "order.yaml"
    assert page.post(f"{page.order}/approve", {"by": "Ada"}).status == 303
    after_the_run(page, page.order)
    path.write_text(path.read_text("utf-8").replace("suites: 10", "suites: 12"), "utf-8")
    shown = page.get(page.order).text
    assert "The approval no longer covers the order" in shown
    assert "tag: 10 copies then, 12 now" in shown


def test_another_page_than_that_of_now_is_refused(page: OpenPage) -> None:
    answer = page.post(f"{page.order}/approve", {"by": "Ada", "code": "0000-0000"})
    assert answer.status == 409
    assert "something was changed between the two" in answer.text
    assert page.post(f"{page.order}/approve", {"by": " "}).status == 409
    assert page.post(f"{page.order}/approve", {"by": "Ada", "on": "soon"}).status == 409
    assert not read_diary(page.folder / "tags" / "order.yaml").approvals


def test_what_is_sent_is_taken_down_and_a_later_change_is_said_loudly(page: OpenPage) -> None:
    order = page.folder / "tags"
    assert page.post(f"{page.order}/approve", {"by": "Ada"}).status == 303
    at = page.order
    shown = after_the_run(page, at)
    assert value_on(shown, "vendor") == "studio"
    answer = page.post(f"{at}/sent", {"vendor": "studio", "on": "2026-11-27"})
    assert answer.status == 303, answer.text
    after = page.get(answer.headers["location"]).text
    assert "Sent on 27 November 2026, as it lies here" in after
    assert "It is sent" not in after
    assert "Changed since its last run" not in after  # marking asks for no run

    back = page.post("/undo", {"word": value_on(after, "word")})
    assert back.status == 303
    shown = page.get(back.headers["location"]).text
    assert "It is taken back." in shown
    assert 'action="/undo"' not in shown.partition("<section")[0] or not value_on(shown, "word")
    assert read_diary(order / "order.yaml").sendings == ()
    assert page.post(f"{at}/sent", {"vendor": "studio"}).status == 303

    (zipped,) = (order / "out" / "studio").glob("*.zip")
    kept = zipped.read_bytes()
    zipped.write_bytes(b"")
    refused = page.post(f"{at}/sent", {"vendor": "studio"})
    assert refused.status == 409
    assert "was not run as it is now" in refused.text
    assert ">Run again</button>" in refused.text
    zipped.write_bytes(kept)

    path = order / "order.yaml"
    path.write_text(path.read_text("utf-8").replace("suites: 10", "suites: 12"), "utf-8")
    early = page.post(f"{at}/sent", {"vendor": "studio"})
    assert "was not run as it is now" in early.text
    assert inkaccord("run", order)[0] == 3
    shown = page.get(at).text
    assert "Tell studio at once that what it was sent on" in shown
    assert "once the client has approved: " in shown
    assert "Nothing more is asked" not in shown
    assert "Tell studio at once" in page.get("/").text
    assert "tag: 10 copies then, 12 now" in shown
    assert "tags-tag.pdf is not made any more" not in shown
    assert page.post(f"{at}/sent", {"vendor": "studio"}).status == 409  # no zip without approval
