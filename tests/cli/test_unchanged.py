"""A run that finds nothing to do: what it loads, and what it leaves alone."""

import subprocess
import sys

from run_kit import state

LOADED = """
import sys
from inkaccord.cli.main import run_main
code = run_main(["run", sys.argv[1]])
print(code, *sorted(sys.modules), file=sys.stderr)
"""


def test_it_loads_no_stage_and_nothing_that_they_work_with(finished):
    before = state(finished)
    done = subprocess.run(
        [sys.executable, "-c", LOADED, finished], capture_output=True, text=True, check=True
    )
    code, *modules = done.stderr.split()
    assert code == "0"
    assert "Nothing more is asked" in done.stdout
    assert not {"numpy", "scipy", "sqlalchemy", "pikepdf", "reportlab", "PIL"} & set(modules)
    assert not [it for it in modules if it.startswith("inkaccord.stages")]
    assert state(finished) == before


def test_three_that_do_nothing_forget_nothing(finished, inkaccord, computed):
    for _ in range(4):
        assert inkaccord("run", finished)[0] == 0
    order = finished / "order.yaml"
    order.write_text(order.read_text("utf-8") + "# a remark\n", "utf-8")
    assert inkaccord("run", finished)[0] == 0
    assert computed == []
