"""Readings that are recorded while a run goes on: the next run sees them.

They come at a moment that a plugin's hook chooses, so that nothing hangs on how fast a machine is.
"""

import sys
import types

import pytest

from inkaccord.cli import watching
from inkaccord.cli.shared import Settings
from inkaccord.hooks import Specifications, hookimpl
from run_kit import record_all, run_of

STAGES = {
    "inkaccord_collect",
    "inkaccord_agree",
    "inkaccord_plan_samples",
    "inkaccord_recolour",
    "inkaccord_deliver",
}


@pytest.fixture
def meanwhile(monkeypatch):
    """Give ``--plugin`` a module that does something once, when a hook is called."""

    def plug(hook, do):
        done = []

        def answer(order):
            if not done:
                done.append(hook)
                do()

        answer.__name__ = hook
        module = types.ModuleType("meanwhile")
        setattr(module, hook, hookimpl(tryfirst=True)(answer))
        monkeypatch.setitem(sys.modules, "meanwhile", module)
        return done

    return plug


def test_every_stage_is_one_of_the_hooks():
    assert STAGES.issubset(vars(Specifications))


@pytest.mark.slow
@pytest.mark.parametrize("hook", sorted(STAGES))
def test_the_next_run_sees_readings_recorded_during_this_one(asked, inkaccord, meanwhile, hook):
    (asked / "out" / "run.json").unlink()  # so that there is something to do
    done = meanwhile(hook, lambda: record_all(asked))
    assert inkaccord("--plugin", "meanwhile", "run", asked)[0] == 3
    assert done == [hook]
    code, out, err = inkaccord("--plugin", "meanwhile", "run", asked)
    assert code == 0, out + err
    assert all(it["evidence"] == "read" for it in run_of(asked)["translations"])


def test_a_run_rests_on_one_state_of_the_shelf(asked, inkaccord, meanwhile, computed):
    """What came during a run changes nothing in it, and after it all is as if it came later."""
    (asked / "out" / "run.json").unlink()
    meanwhile("inkaccord_collect", lambda: record_all(asked))
    inkaccord("--plugin", "meanwhile", "run", asked)
    assert {it["evidence"] for it in run_of(asked)["translations"]} != {"read"}
    inkaccord("--plugin", "meanwhile", "run", asked)
    computed.clear()
    assert inkaccord("--plugin", "meanwhile", "run", asked)[0] == 0
    assert computed == []  # and then it stands still


@pytest.mark.slow
def test_watching_runs_again_at_once(asked, meanwhile, monkeypatch, capsys):
    (asked / "out" / "run.json").unlink()
    meanwhile("inkaccord_recolour", lambda: record_all(asked))

    def nothing_more(files, shelf, before):
        raise KeyboardInterrupt

    monkeypatch.setattr(watching, "wait_for_change", nothing_more)
    code = watching.watch_order(Settings(("meanwhile",)), asked, out=None, as_json=False)
    assert code == 0, capsys.readouterr()
