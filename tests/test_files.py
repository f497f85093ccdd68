import errno
import gc
import os
import tempfile
from pathlib import Path

import pytest

from inkaccord.errors import ExitCode, FileError, OrderError
from inkaccord.files import inside, replacing, safe_name, working_folder, write_if_changed


def test_what_fails_leaves_the_old_file_and_no_trace(tmp_path):
    path = tmp_path / "a.txt"
    path.write_bytes(b"old")
    with pytest.raises(ZeroDivisionError), replacing(path) as temporary:
        temporary.write_bytes(b"half of the n")
        _ = 1 / 0
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_full_disk_is_a_file_error_that_names_the_file(tmp_path):
    path = tmp_path / "a.txt"
    with pytest.raises(FileError) as problem, replacing(path):
        raise OSError(28, "No space left on device")
    assert problem.value.exit_code is ExitCode.FILES
    assert "a.txt" in str(problem.value)
    assert "No space left" in str(problem.value)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("code", "said"),
    [(errno.ENOSPC, "free some disk space"), (errno.EROFS, "you may write in its folder")],
    ids=["full", "read-only"],
)
def test_the_mend_is_that_of_what_is_wrong(tmp_path, code, said):
    with pytest.raises(FileError) as problem, replacing(tmp_path / "a.txt"):
        raise OSError(code, os.strerror(code))
    assert said in str(problem.value.findings[0].mends)


def test_a_working_folder_goes_though_what_held_it_is_collected_in_any_order(tmp_path, monkeypatch):
    def pages():
        with working_folder() as folder:
            yield folder

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    circle = [pages()]
    circle.append(circle)
    assert next(circle[0]).exists()
    del circle
    gc.collect()
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_the_way_of_the_folder(tmp_path):
    (tmp_path / "out").write_bytes(b"")
    with pytest.raises(FileError, match="cannot write"):
        write_if_changed(tmp_path / "out" / "a.txt", b"x")


def test_a_pipe_or_a_device_is_neither_read_nor_replaced(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", Path("/dev/full"), Path("/dev/zero")):
        with pytest.raises(FileError, match="a pipe or a device"):
            write_if_changed(path, b"x")


def test_the_same_bytes_are_not_written_again(tmp_path):
    path = tmp_path / "deep" / "a.txt"
    assert write_if_changed(path, b"x")
    os.utime(path, (1, 1))
    assert not write_if_changed(path, b"x")
    assert path.stat().st_mtime == 1
    assert write_if_changed(path, b"y")
    assert path.stat().st_mtime > 1


@pytest.mark.parametrize("name", ["../x", "/etc/passwd", "a/../../x", "", "."])
def test_nothing_leads_outside(tmp_path, name):
    with pytest.raises(OrderError):
        inside(tmp_path, name)


def test_a_link_that_leads_outside_is_refused(tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "link").symlink_to(tmp_path)
    with pytest.raises(OrderError):
        inside(tmp_path / "out", "link/x")


def test_names_are_made_safe():
    assert safe_name("a/b: c") == "a-b-c"
    with pytest.raises(OrderError):
        safe_name("../..")
