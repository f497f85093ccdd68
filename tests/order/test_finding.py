"""Which orders files, folders and patterns name."""

from pathlib import Path

import pytest

from inkaccord.errors import OrderError
from inkaccord.order.finding import orders_named


@pytest.fixture
def autumn(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("autumn/ball", "autumn/talks/one", "autumn/a/b/too-deep", "autumn/.trash"):
        (tmp_path / name).mkdir(parents=True)
        (tmp_path / name / "order.yaml").write_text("order: x\n", "utf-8")
    (tmp_path / "autumn" / "pictures").mkdir()
    (tmp_path / "autumn" / "notes.txt").write_text("x", "utf-8")
    (tmp_path / "autumn" / "late.yaml").write_text("order: late\n", "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def named(*words: str) -> list[str] | None:
    found = orders_named(words)
    return None if found is None else [it.as_posix() for it in found]


def test_one_order_is_one(autumn: Path) -> None:
    for word in ("autumn/ball", "autumn/ball/order.yaml", "autumn/pictures", "not/there"):
        assert named(word) is None


def test_a_folder_means_the_orders_in_it(autumn: Path) -> None:
    assert named("autumn") == ["autumn/ball", "autumn/talks/one"]
    assert named("autumn/talks") == ["autumn/talks/one"]


def test_a_pattern_means_the_orders_that_it_matches(autumn: Path) -> None:
    deeper = ["autumn/a/b/too-deep", "autumn/ball", "autumn/late.yaml", "autumn/talks/one"]
    assert named("autumn/*") == deeper  # as a folder that is named itself
    assert named("autumn/b*") == ["autumn/ball"]
    assert named("autumn/**/order.yaml") == [
        "autumn/a/b/too-deep/order.yaml",
        "autumn/ball/order.yaml",
        "autumn/talks/one/order.yaml",
    ]
    with pytest.raises(OrderError, match="no order matches winter"):
        orders_named(["autumn/ball", "winter/*"])
    (autumn / "[1]").mkdir()
    (autumn / "[1]" / "order.yaml").write_text("order: x\n", "utf-8")
    assert named("[1]") is None


def test_an_order_is_named_once_and_one_that_is_missing_stays(autumn: Path) -> None:
    (autumn / "autumn" / "link").symlink_to("ball")
    words = ("not/there", "autumn/talks/one", "autumn/ball/order.yaml", "autumn", "autumn/link")
    assert named(*words) == ["not/there", "autumn/talks/one", "autumn/ball/order.yaml"]
