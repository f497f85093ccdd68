"""What was changed since another order, on a page."""

import re
import shutil
from pathlib import Path

import pytest

from run_kit import inkaccord
from web_kit import PageHere, studio


@pytest.mark.slow
def test_two_orders_of_a_folder_are_held_against_each_other(tmp_path: Path) -> None:
    order = studio(tmp_path)
    assert inkaccord("run", order)[0] == 3
    page = PageHere(tmp_path)
    assert "No other order of this folder was run yet" in page.get(f"{page.order}/differences").text

    shutil.copytree(order, tmp_path / "winter")
    at = page.order
    asked = page.get(f"{at}/differences").text
    (other,) = re.findall(r'<option value="(\w+)"', asked)
    assert "Nothing was changed" in page.get(f"{at}/differences?since={other}").text

    path = tmp_path / "winter" / "order.yaml"
    path.write_text(path.read_text("utf-8").replace("suites: 10", "suites: 12"), "utf-8")
    assert inkaccord("run", tmp_path / "winter")[0] == 3
    shown = page.get(f"{at}/differences?since={other}").text
    assert {"suites: 10 then, 12 now", "suites: 12 then, 10 now"} & set(
        re.findall(r"<li>(suites[^<]*)</li>", shown)
    )
    assert "Nothing was changed" not in shown
