"""The hooks are pluggy's: what its documentation says of them holds, also round a broken plugin."""

import types

import pytest

from inkaccord.diagnostics import note
from inkaccord.errors import OrderError
from inkaccord.hooks import Specifications, hookimpl
from inkaccord.order.kinds import VendorKind
from inkaccord.plugins import Plugins
from inkaccord.run.agreement import Agreement
from inkaccord.run.collected import Collected
from inkaccord.run.files import OutFile
from inkaccord.run.imposed import Imposed

COLLECTED = Collected(artworks=())
HOOKS = {name for name in vars(Specifications) if name.startswith("inkaccord_")}
DRAWN = b"%PDF-drawn"


def plugin(hook, function, **options):
    """Return a module with one implementation."""
    module = types.ModuleType("a_plugin")
    setattr(module, hook, hookimpl(**options)(function))
    return module


def plugins(*modules, own=()):
    """Register modules as 'one', 'two' ..., those of ``own`` as built in."""
    loaded = Plugins()
    for number, module in enumerate(own):
        loaded.add(f"own{number}", module, "built-in", "1")
    for name, module in zip(("one", "two", "three"), modules, strict=False):
        loaded.add(name, module, "command line", "")
    return loaded


def collects(value):
    return plugin("inkaccord_collect", lambda order, bench: value)


def draws(value, **options):
    return plugin("inkaccord_draw_sheet", lambda sheet, notes: value, **options)


def checks(*findings, **options):
    return plugin("inkaccord_check_artwork", lambda subject: list(findings), **options)


def messages(findings):
    return [finding.message for finding in findings]


def test_the_latest_is_asked_first_unless_it_says_otherwise():
    assert plugins(draws(b"1"), draws(b"2")).draw_sheet("sheet", ()) == b"2"
    assert plugins(draws(b"1", tryfirst=True), draws(b"2")).draw_sheet("sheet", ()) == b"1"
    assert plugins(draws(b"1"), draws(b"2", trylast=True)).draw_sheet("sheet", ()) == b"1"
    assert plugins(draws(b"1"), draws(None)).draw_sheet("sheet", ()) == b"1"


def test_stages_and_what_is_collected_keep_the_order_too():
    first, last = Collected(artworks=()), Collected(artworks=())
    asked = plugins(
        plugin("inkaccord_collect", lambda: first, tryfirst=True), collects(last), collects(last)
    )
    assert asked.collect(None, None) is first
    asked = plugins(collects(first), plugin("inkaccord_collect", lambda: last, trylast=True))
    assert asked.collect(None, None) is first


@pytest.mark.parametrize(
    ("one", "two", "order"),
    [({}, {}, "21"), ({"tryfirst": True}, {}, "12"), ({}, {"trylast": True}, "12")],
)
def test_where_items_are_collected_the_call_keeps_the_same_order(one, two, order):
    asked = plugins(
        plugin("inkaccord_deliver", lambda: [OutFile("1", b"", "list")], **one),
        plugin("inkaccord_deliver", lambda: [OutFile("2", b"", "list")], **two),
    )
    given = asked.manager.hook.inkaccord_deliver(
        order=None, run=None, files={}, gallery=None, bench=None
    )
    assert "".join(file.path for (file,) in given) == order


def test_all_are_asked_where_items_are_collected_and_each_is_named():
    found = plugins(checks(note("a", "a")), checks(note("b", "b"))).check_artwork("subject", None)
    assert [(it.code, it.source) for it in found] == [("a", "one"), ("b", "two")]


def test_an_implementation_may_leave_out_arguments_or_be_a_method():
    class Shop:
        @hookimpl
        def inkaccord_deliver(self, run):
            return [OutFile(run, b"", "list")]

    given = plugins(Shop()).deliver("order", "a path", {}, None, None)
    assert given == [("one", OutFile("a path", b"", "list"))]


def test_another_function_may_implement_a_hook_under_its_own_name():
    module = types.ModuleType("a_plugin")
    module.draw = hookimpl(specname="inkaccord_draw_sheet")(lambda sheet, notes: DRAWN)
    assert plugins(module).draw_sheet("sheet", ()) == DRAWN


@pytest.mark.parametrize("options", [{"wrapper": True}, {"hookwrapper": True}])
def test_a_wrapper_stands_round_the_call_and_may_change_the_result(options):
    heard = []

    def new(sheet):
        heard.append(sheet)
        return (yield) + b"+"

    def old(sheet):
        heard.append(sheet)
        outcome = yield
        outcome.force_result(outcome.get_result() + b"+")

    wrapper = plugin("inkaccord_draw_sheet", new if "wrapper" in options else old, **options)
    assert plugins(draws(DRAWN), wrapper).draw_sheet("a sheet", ()) == DRAWN + b"+"
    assert heard == ["a sheet"]


def test_a_wrapper_may_mend_what_another_plugin_could_not():
    def wrapper():
        try:
            return (yield)
        except OrderError:
            return COLLECTED

    broken = plugin("inkaccord_collect", lambda order: 1 / 0)
    mended = plugin("inkaccord_collect", wrapper, wrapper=True)
    assert plugins(broken, mended).collect(None, None) is COLLECTED


def test_a_wrapper_that_gives_nonsense_is_an_error():
    def wrapper():
        yield
        return "nonsense"

    asked = plugins(collects(COLLECTED), plugin("inkaccord_collect", wrapper, wrapper=True))
    with pytest.raises(OrderError, match=r"a wrapper.*gave str, not Collected"):
        asked.collect(None, None)


def before(_hook):
    raise ZeroDivisionError("before")
    yield


def after(_hook):
    yield
    raise ZeroDivisionError("after")


def twice(_hook):
    yield
    yield


@pytest.mark.parametrize("options", [{"wrapper": True}, {"hookwrapper": True}])
@pytest.mark.parametrize("breaks", [before, after, twice])
def test_a_broken_wrapper_is_named_and_the_rest_goes_on(breaks, options):
    def wrapper(sheet):
        return (yield from breaks(sheet))

    broken = plugin("inkaccord_draw_sheet", wrapper, **options)
    asked = plugins(draws(DRAWN), broken)
    assert asked.draw_sheet("sheet", ()) == DRAWN
    (finding,) = asked.findings
    assert (finding.code, finding.source) == ("plugin-failed", "two")
    assert "inkaccord_draw_sheet" in finding.message


def refuses_before(hook):
    raise OrderError.of("not-mine", f"refused before {hook}")
    yield


def refuses_after(hook):
    yield
    raise OrderError.of("not-mine", f"refused after {hook}")


WRAPPED = {
    "inkaccord_vendor_kinds": (lambda asked: asked.vendor_kinds(), {}),
    "inkaccord_readings_formats": (lambda asked: asked.readings_formats(), ()),
    "inkaccord_executors": (lambda asked: asked.engine("moon"), None),
    "inkaccord_draw_sheet": (lambda asked: asked.draw_sheet("sheet", ()), DRAWN),
    "inkaccord_check_artwork": (lambda asked: asked.check_artwork("subject", None), []),
    "inkaccord_deliver": (lambda asked: asked.deliver(None, None, {}, None, None), []),
}
STAGES = {
    "inkaccord_collect": lambda asked: asked.collect(1, 2),
    "inkaccord_translate": lambda asked: asked.translate(1, 2, 3),
    "inkaccord_agree": lambda asked: asked.agree(1, 2, 3, 4),
    "inkaccord_plan_samples": lambda asked: asked.plan_samples(1, 2, 3, 4, 5),
    "inkaccord_recolour": lambda asked: asked.recolour(1, 2, 3, 4, 5),
    "inkaccord_impose": lambda asked: asked.impose(1, 2, 3, 4, 5),
}


def test_every_hook_either_stops_a_run_or_does_not():
    assert WRAPPED.keys() | STAGES.keys() == HOOKS
    assert not WRAPPED.keys() & STAGES.keys()


@pytest.mark.parametrize("options", [{"wrapper": True}, {"hookwrapper": True}])
@pytest.mark.parametrize("refuses", [refuses_before, refuses_after])
@pytest.mark.parametrize("hook", WRAPPED)
def test_a_wrapper_that_refuses_what_a_run_can_do_without_is_named_and_gone_past(
    hook, refuses, options
):
    def wrapper():
        return (yield from refuses(hook))

    ask, result = WRAPPED[hook]
    asked = plugins(draws(DRAWN), plugin(hook, wrapper, **options))
    assert ask(asked) == result
    assert [(it.code, it.source) for it in asked.findings] == [("not-mine", "two")]


@pytest.mark.parametrize("options", [{"wrapper": True}, {"hookwrapper": True}])
@pytest.mark.parametrize("refuses", [refuses_before, refuses_after])
@pytest.mark.parametrize("hook", STAGES)
def test_a_wrapper_may_refuse_a_stage_and_is_named(hook, refuses, options):
    def wrapper():
        return (yield from refuses(hook))

    asked = plugins(plugin(hook, lambda: None), plugin(hook, wrapper, **options))
    with pytest.raises(OrderError, match=hook) as problem:
        STAGES[hook](asked)
    assert [(it.code, it.source) for it in problem.value.findings] == [("not-mine", "two")]
    assert asked.findings == []


def passes_on():
    return (yield)


def looks_at_it():
    (yield).get_result()


@pytest.mark.parametrize(
    ("wrapper", "options"), [(passes_on, {"wrapper": True}), (looks_at_it, {"hookwrapper": True})]
)
def test_a_wrapper_that_a_refusal_passes_through_is_not_blamed(wrapper, options):
    def refuses():
        raise OrderError.of("no", "the stage says no")

    asked = plugins(
        plugin("inkaccord_collect", refuses), plugin("inkaccord_collect", wrapper, **options)
    )
    with pytest.raises(OrderError, match="the stage says no") as problem:
        asked.collect(None, None)
    assert [finding.source for finding in problem.value.findings] == ["one"]
    assert asked.findings == []


def test_what_is_built_in_refuses_in_the_name_of_the_program():
    def refuses():
        raise OrderError.of("no", "the stage says no")

    with pytest.raises(OrderError) as problem:
        plugins(own=[plugin("inkaccord_collect", refuses)]).collect(None, None)
    assert [finding.source for finding in problem.value.findings] == [None]


def test_a_wrapper_that_breaks_over_an_error_hides_it_from_nobody():
    def wrapper(order):
        try:
            yield
        except OrderError:
            raise KeyError("while mending") from None

    def refuses(order):
        raise OrderError.of("no", "the stage says no")

    asked = plugins(
        plugin("inkaccord_collect", refuses), plugin("inkaccord_collect", wrapper, wrapper=True)
    )
    with pytest.raises(OrderError, match="the stage says no"):
        asked.collect(None, None)
    assert [finding.source for finding in asked.findings] == ["two"]


def crashes():
    raise ZeroDivisionError("broken")


BROKEN = {
    "inkaccord_vendor_kinds": (lambda asked: asked.vendor_kinds(), {}),
    "inkaccord_readings_formats": (lambda asked: asked.readings_formats(), ()),
    "inkaccord_executors": (lambda asked: asked.engine("moon"), None),
    "inkaccord_deliver": (lambda asked: asked.deliver(None, None, {}, None, None), []),
}


@pytest.mark.parametrize("hook", BROKEN)
@pytest.mark.parametrize("value", [crashes, lambda: 7, lambda: ["nonsense"]])
def test_a_plugin_that_breaks_where_items_are_collected_is_named(hook, value):
    ask, nothing = BROKEN[hook]
    asked = plugins(plugin(hook, value))
    assert ask(asked) == nothing
    assert [(it.code, it.source) for it in asked.findings] == [("plugin-failed", "one")]


def test_a_check_that_breaks_has_not_passed():
    broken = plugin("inkaccord_check_artwork", crashes)
    asked = plugins(checks(note("seen", "seen")), broken)
    found = asked.check_artwork("subject", None)
    assert [(it.code, it.source) for it in found] == [("seen", "one"), ("plugin-failed", "two")]
    assert asked.findings == []


def test_what_is_right_of_what_a_plugin_gives_is_taken():
    asked = plugins(checks(note("seen", "seen"), "nonsense"))
    found = asked.check_artwork("subject", None)
    assert [it.code for it in found] == ["seen", "plugin-failed"]
    assert "gave str, not Diagnostic" in found[1].message


@pytest.mark.parametrize("hook", STAGES)
def test_a_stage_that_breaks_stops_the_run_and_is_named(hook):
    ask = STAGES[hook]
    for value in (crashes, lambda: "nonsense"):
        with pytest.raises(OrderError, match=f"'one' failed in {hook}") as problem:
            ask(plugins(plugin(hook, lambda value=value: value())))
        assert problem.value.findings[0].source == "one"
    with pytest.raises(OrderError, match=f"no plugin answers {hook}"):
        ask(plugins())


def test_a_crash_of_our_own_stage_is_shown_whole():
    with pytest.raises(ZeroDivisionError):
        plugins(own=[plugin("inkaccord_agree", crashes)]).agree(1, 2, 3, 4)


def test_the_plugin_that_laid_the_pieces_is_known():
    lays, passes = (lambda order: Imposed()), (lambda order: None)
    asked = plugins(plugin("inkaccord_impose", lays), plugin("inkaccord_impose", passes))
    assert asked.imposer == ""
    asked.impose(1, 2, 3, 4, 5)
    assert asked.imposer == "one"


def test_calls_can_be_monitored():
    asked, heard = plugins(draws(DRAWN)), []
    stop = asked.manager.add_hookcall_monitoring(
        lambda name, impls, kwargs: heard.append((name, [it.plugin_name for it in impls])),
        lambda outcome, name, impls, kwargs: heard.append(outcome.get_result()),
    )
    asked.draw_sheet("sheet", ())
    stop()
    asked.draw_sheet("sheet", ())
    assert heard == [("inkaccord_draw_sheet", ["one"]), DRAWN]


def test_a_kind_of_a_wrapper_is_taken_too():
    kind = VendorKind(name="mine", options=Agreement, profile=lambda name, options: None)

    def wrapper():
        return [*(yield), [kind]]

    asked = plugins(plugin("inkaccord_vendor_kinds", wrapper, wrapper=True))
    assert asked.vendor_kinds() == {"mine": kind}
