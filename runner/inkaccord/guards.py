"""Guards round the implementations of plugins, so that a broken one is named and does no harm.

pluggy calls the hooks, and every rule of its documentation holds: a guard only stands between it
and one function of one plugin. What the function raises by mistake, and what it gives of a wrong
type, becomes a finding that names the plugin.
"""

import inspect
import traceback
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial, wraps
from pathlib import Path
from types import CodeType, SimpleNamespace
from typing import Any, Generic, TypeVar, get_args, get_origin, get_type_hints

import pluggy

from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.errors import InkaccordError, OrderError

T = TypeVar("T")

_BETWEEN = {Path(__file__).parent, Path(pluggy.__file__).parent}
"""Folders of code that stands between a plugin and whoever calls it."""

CRASHES = (Exception, SystemExit)
"""What a plugin may raise that becomes a finding: also an exit, which is not its to decide."""


class Given(tuple[T, ...], Generic[T]):
    """What one plugin gave to a hook that collects: its items, and whose they are."""

    plugin: str

    @classmethod
    def of(cls, plugin: str, items: Iterable[T]) -> "Given[T]":
        """Return the items of a plugin."""
        given = cls(items)
        given.plugin = plugin
        return given


@dataclass
class Door:
    """What the guards of one command write down.

    Attributes
    ----------
    findings
        What went wrong; each names its plugin.
    answered
        Which plugin gave a stage's result: hook → plugin.
    """

    findings: list[Diagnostic] = field(default_factory=list)
    answered: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Guard:
    """One plugin's place at the door.

    Attributes
    ----------
    expects
        What each hook expects of an implementation, by name.
    own
        Whether the plugin is built in: a crash of its stages is our own bug, and shown whole.
    """

    plugin: str
    own: bool
    expects: Mapping[str, "Expected"]
    door: Door

    def guarded(self, manager: pluggy.PluginManager, plugin: object) -> object:
        """Return what is to be registered in a plugin's stead: its implementations, guarded."""
        guarded = {}
        for name in dir(plugin):
            options = manager.parse_hookimpl_opts(plugin, name)
            if options is None:
                continue
            function = getattr(plugin, name)
            hook = options.get("specname") or name
            if not inspect.isgeneratorfunction(function):
                guarded[name] = self._implementation(hook, function)
            elif options.get("wrapper"):
                guarded[name] = self._wrapper(hook, function)
            elif options.get("hookwrapper"):
                guarded[name] = self._old_wrapper(hook, function)
            else:
                guarded[name] = self._implementation(hook, function)
        return SimpleNamespace(**guarded)

    def _implementation(self, hook: str, function: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(function)
        def implementation(*arguments: Any) -> Any:
            expected = self.expects.get(hook)
            try:
                value = function(*arguments)
                return value if expected is None else expected.checked(value, hook, self, function)
            except InkaccordError as problem:
                findings = self._named(problem).findings
                if expected is None or expected.stops:
                    raise
                return self._without(expected, findings)
            except CRASHES as problem:
                if expected is None or (expected.stops and self.own):
                    raise
                finding = blame(self.plugin, hook, problem)
                if expected.stops:
                    raise OrderError(finding) from problem
                return self._without(expected, [finding])

        return implementation

    def _without(self, expected: "Expected", findings: Sequence[Diagnostic]) -> Any:
        """Go on without what a plugin should have given, and say so."""
        told = self.told(expected, findings)
        return Given.of(self.plugin, told) if told else None

    def told(self, expected: "Expected", findings: Sequence[Diagnostic]) -> Sequence[Diagnostic]:
        """Return findings for a hook that collects findings; else write them down at the door.

        What a check could not look at has not passed it: there the trouble is what was found.
        """
        if expected.item is Diagnostic:
            return findings
        self.door.findings += findings
        return ()

    def _wrapper(self, hook: str, function: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(function)
        def wrapper(*arguments: Any) -> Generator[None, Any, Any]:
            inner = function(*arguments)
            try:
                next(inner)
            except CRASHES as problem:
                self._go_past(hook, problem)
                return (yield)
            try:
                result = yield
            except BaseException as raised:  # noqa: BLE001 - the wrapper's to see, and raised again
                return self._closed(hook, inner, partial(inner.throw, raised), raised)
            return self._closed(hook, inner, partial(inner.send, result), result)

        return wrapper

    def _closed(
        self,
        hook: str,
        inner: Generator[None, Any, Any],
        resume: Callable[[], object],
        outcome: Any,
    ) -> Any:
        """Return what a wrapper makes of an outcome, a result or what was raised."""
        try:
            resume()
        except StopIteration as done:
            return done.value
        except CRASHES as problem:
            if problem is not outcome:
                self._go_past(hook, problem)
        else:
            inner.close()
            self._go_past(hook, RuntimeError("the wrapper yields more than once"))
        if isinstance(outcome, BaseException):
            raise outcome
        return outcome

    def _old_wrapper(self, hook: str, function: Callable[..., Any]) -> Callable[..., Any]:
        @wraps(function)
        def wrapper(*arguments: Any) -> Generator[None, pluggy.Result[Any], None]:
            inner = function(*arguments)
            try:
                next(inner)
            except CRASHES as problem:
                self._go_past(hook, problem)
                yield
                return
            outcome = yield
            try:
                inner.send(outcome)
            except StopIteration:
                return
            except CRASHES as problem:
                if problem is not outcome.exception:
                    # pluggy warns of what is raised here, and not of what is put into the outcome.
                    with _raised_into(outcome):
                        self._go_past(hook, problem)
                return
            inner.close()
            self._go_past(hook, RuntimeError("the wrapper yields more than once"))

        return wrapper

    def _go_past(self, hook: str, problem: BaseException) -> None:
        """Write down what a wrapper raised. With an InkaccordError it may refuse a stage."""
        if not isinstance(problem, InkaccordError):
            self.door.findings.append(blame(self.plugin, hook, problem))
            return
        findings = self._named(problem).findings
        expected = self.expects.get(hook)
        if expected is None or expected.stops:
            raise problem
        self.door.findings += findings

    def _named(self, problem: InkaccordError) -> InkaccordError:
        """Lay at the plugin's door what it refused; what is built in speaks for the program."""
        if not self.own:
            problem.findings = tuple(named(self.plugin, it) for it in problem.findings)
        return problem


@contextmanager
def _raised_into(outcome: pluggy.Result[Any]) -> Iterator[None]:
    """Make what is raised the outcome of the call."""
    try:
        yield
    except InkaccordError as problem:
        outcome.force_exception(problem)


@dataclass(frozen=True)
class Expected:
    """What a hook expects of an implementation.

    Attributes
    ----------
    item
        The type of its result, or of each item where it collects.
    collects
        Whether it collects a sequence of items from every plugin; else the first result counts.
    stops
        Whether a run can't go on without it.
    """

    item: type
    collects: bool = False
    stops: bool = False

    def checked(self, value: Any, hook: str, guard: Guard, function: object) -> Any:
        """Return a value of the right type, or raise TypeError; of items leave out the wrong.

        ``function`` is the implementation that gave it.
        """
        if value is None:
            return None
        if not self.collects:
            if not isinstance(value, self.item):
                raise wrong_type(value, self.item, function)
            guard.door.answered[hook] = guard.plugin
            return value
        items = list(value)
        wrong = [item for item in items if not isinstance(item, self.item)]
        right = [item for item in items if isinstance(item, self.item)]
        problems = (wrong_type(item, self.item, function) for item in wrong)
        troubles = [blame(guard.plugin, hook, problem) for problem in problems]
        return Given.of(guard.plugin, [*right, *guard.told(self, troubles)])


class WrongTypeError(TypeError):
    """A plugin gave something else than its hook asks for."""

    code: CodeType | None = None
    """Of the function that gave it."""


def wrong_type(value: object, wanted: type, function: object = None) -> WrongTypeError:
    """Return that a value, which a function gave, is not of the type that is asked for."""
    problem = WrongTypeError(f"gave {type(value).__name__}, not {wanted.__name__}")
    problem.code = getattr(function, "__code__", None)
    return problem


def blame(plugin: str, what: str, problem: BaseException) -> Diagnostic:
    """Return the finding that a plugin failed."""
    kind = "" if isinstance(problem, WrongTypeError) else f"{type(problem).__name__}: "
    text = f"{kind}{problem}"
    return error(
        "plugin-failed",
        f"the plugin '{plugin}' failed in {what}: {text}",
        place=_where(problem),
        hint="tell its author; uninstall it to go on without it",
    ).model_copy(update={"source": plugin})


def _where(problem: BaseException) -> Place:
    """Return the line of a plugin's own code that failed, as far as one can be told.

    The files beside the plugin's are its own; a library that it calls is not to blame. A file is
    named from its package on, so that the record is the same wherever a plugin is installed.
    """
    if isinstance(problem, WrongTypeError) and problem.code is not None:
        return Place(file=_short(Path(problem.code.co_filename)), line=problem.code.co_firstlineno)
    if isinstance(problem, SyntaxError) and problem.filename:
        return Place(file=_short(Path(problem.filename)), line=problem.lineno)
    lines = [
        (Path(frame.filename), frame.lineno)
        for frame in traceback.extract_tb(problem.__traceback__)
        if not frame.filename.startswith("<")
    ]
    own = [
        line
        for line in lines
        if "importlib" not in line[0].parts and not _BETWEEN.intersection(line[0].parents)
    ]
    if not own:
        return Place()
    home = own[0][0].parent
    file, number = next(line for line in reversed(own) if home in line[0].parents)
    return Place(file=_short(file), line=number)


def _short(file: Path) -> str:
    named = [file.name]
    for folder in file.parents:
        if not (folder / "__init__.py").exists():
            break
        named.insert(0, folder.name)
    return "/".join(named)


def named(plugin: str, finding: Diagnostic) -> Diagnostic:
    """Return a finding that says which plugin it is of."""
    return finding if finding.source else finding.model_copy(update={"source": plugin})


def expectations(specifications: type) -> dict[str, Expected]:
    """Return what the hooks of a class of specifications expect, by name, as their types say.

    ``Sequence[Item]`` collects items; ``Result | None`` takes the first result.
    """
    expected = {}
    for name, hook in vars(specifications).items():
        if not name.startswith("inkaccord_"):
            continue
        returns = get_type_hints(hook)["return"]
        item, *_ = get_args(returns)
        collects = get_origin(returns) is Sequence
        expected[name] = Expected(item, collects, stops=not collects and item is not bytes)
    return expected
