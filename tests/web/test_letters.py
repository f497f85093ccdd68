"""The letters about an order's artwork, saved on the page as the command writes them."""

import io
import zipfile
from pathlib import Path

import pytest

from run_kit import inkaccord
from web_kit import PageHere, studio

pytestmark = pytest.mark.slow  # each letter has a picture


def test_the_letters_are_those_of_the_command(tmp_path: Path) -> None:
    order = studio(tmp_path)
    assert inkaccord("check", order, "--letters", tmp_path / "letters")[0] == 0
    page = PageHere(tmp_path)
    assert f'href="{page.order}/letters.zip"' in page.get(f"{page.order}/pieces").text
    answer = page.get(f"{page.order}/letters.zip")
    with zipfile.ZipFile(io.BytesIO(answer.data)) as saved:
        (name,) = saved.namelist()
        assert name.endswith("tag.pdf")
        assert saved.read(name) == (tmp_path / "letters/tag.pdf").read_bytes()


def test_a_wrong_order_says_what_is_wrong_and_wrong_artwork_has_its_letter(tmp_path: Path) -> None:
    order = studio(tmp_path)
    page = PageHere(tmp_path)
    at = page.order
    (order / "tag.pdf").write_bytes(b"no artwork")
    assert page.get(f"{at}/letters.zip").status == 200
    (order / "order.yaml").write_text("order: [", "utf-8")
    assert page.get(f"{at}/letters.zip").status == 404
