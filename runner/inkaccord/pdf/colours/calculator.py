"""The calculator functions of PDF, type 4 (ISO 32000-2, 7.10.5): a small stack language."""

import math
import re
from collections.abc import Callable
from typing import Any

MAX_NESTING = 64


class BadProgramError(ValueError):
    """A calculator function that does not follow the standard or needs too much."""


_TOKEN = re.compile(rb"\s*(?:%[^\r\n]*+\s*)*+([{}]|[^\s{}%]+)")
_MAX_TOKENS = 20_000

Program = list[Any]


def parse_program(data: bytes) -> Program:
    """Return a program's words, procedures as lists. Raises BadProgramError."""
    tokens = _TOKEN.findall(data)
    if len(tokens) > _MAX_TOKENS:
        raise BadProgramError("a calculator function that is too long")
    stack: list[Program] = [[]]
    for word in tokens:
        if word == b"{":
            if len(stack) > MAX_NESTING:
                raise BadProgramError("a calculator function nested too deep")
            stack.append([])
        elif word == b"}":
            if len(stack) < 2:
                raise BadProgramError("a calculator function with unbalanced braces")
            inner = stack.pop()
            stack[-1].append(inner)
        else:
            text = word.decode("latin-1")
            try:
                stack[-1].append(int(text) if re.fullmatch(r"[+-]?\d+", text) else float(text))
            except ValueError:
                if text not in _WORDS:
                    raise BadProgramError(f"the calculator operator {text}") from None
                stack[-1].append(text)
    if len(stack) != 1 or len(stack[0]) != 1 or not isinstance(stack[0][0], list):
        raise BadProgramError("a calculator function with unbalanced braces")
    return stack[0][0]


def _int32(value: int) -> int:
    return (value + 2**31) % 2**32 - 2**31


def _shift(a: int, b: int) -> int:
    if abs(b) > 31:
        return 0
    return _int32(a << b) if b >= 0 else (a & 0xFFFFFFFF) >> -b


def _atan(a: float, b: float) -> float:
    return math.degrees(math.atan2(a, b)) % 360


def _logic(a: Any, b: Any, op: Callable[[Any, Any], Any]) -> Any:
    return op(bool(a), bool(b)) if isinstance(a, bool) else op(int(a), int(b))


_ONE: dict[str, Callable[[Any], Any]] = {
    "abs": abs,
    "neg": lambda a: -a,
    "ceiling": lambda a: a if isinstance(a, int) else float(math.ceil(a)),
    "floor": lambda a: a if isinstance(a, int) else float(math.floor(a)),
    "round": lambda a: a if isinstance(a, int) else float(math.floor(a + 0.5)),
    "truncate": lambda a: a if isinstance(a, int) else float(math.trunc(a)),
    "sqrt": math.sqrt,
    "sin": lambda a: math.sin(math.radians(a)),
    "cos": lambda a: math.cos(math.radians(a)),
    "ln": math.log,
    "log": math.log10,
    "cvi": int,
    "cvr": float,
    "not": lambda a: (not a) if isinstance(a, bool) else ~int(a),
}
_TWO: dict[str, Callable[[Any, Any], Any]] = {
    "add": lambda a, b: a + b,
    "sub": lambda a, b: a - b,
    "mul": lambda a, b: a * b,
    "div": lambda a, b: a / b,
    "idiv": lambda a, b: int(a / b),
    "mod": lambda a, b: int(math.fmod(a, b)),
    "exp": lambda a, b: float(a) ** b,
    "atan": _atan,
    "eq": lambda a, b: a == b,
    "ne": lambda a, b: a != b,
    "gt": lambda a, b: a > b,
    "ge": lambda a, b: a >= b,
    "lt": lambda a, b: a < b,
    "le": lambda a, b: a <= b,
    "and": lambda a, b: _logic(a, b, lambda x, y: x & y),
    "or": lambda a, b: _logic(a, b, lambda x, y: x | y),
    "xor": lambda a, b: _logic(a, b, lambda x, y: x ^ y),
    "bitshift": _shift,
}
_STACK_WORDS = frozenset({"pop", "exch", "dup", "copy", "index", "roll", "true", "false"})
_WORDS = frozenset(_ONE) | frozenset(_TWO) | _STACK_WORDS | {"if", "ifelse"}
_MAX_STACK = 100


def run_program(program: Program, stack: list[Any]) -> None:
    """Run a program on a stack. There are no loops, so it ends.

    Raises BadProgramError, or what its arithmetic raises.
    """
    for position, word in enumerate(program):
        if isinstance(word, (int, float)):
            stack.append(word)
        elif isinstance(word, list):
            continue
        elif word in _ONE:
            stack.append(_ONE[word](stack.pop()))
        elif word in _TWO:
            b = stack.pop()
            stack.append(_TWO[word](stack.pop(), b))
        elif word == "if":
            if stack.pop():
                run_program(program[position - 1], stack)
        elif word == "ifelse":
            run_program(program[position - 2 if stack.pop() else position - 1], stack)
        else:
            _move(word, stack)
        if len(stack) > _MAX_STACK:
            raise BadProgramError("a calculator function that needs too much stack")


def _move(word: str, stack: list[Any]) -> None:
    match word:
        case "pop":
            stack.pop()
        case "exch":
            stack[-1], stack[-2] = stack[-2], stack[-1]
        case "dup":
            stack.append(stack[-1])
        case "true" | "false":
            stack.append(word == "true")
        case "copy":
            count = int(stack.pop())
            if not 0 <= count <= len(stack):
                raise BadProgramError("copy of what is not there")
            stack.extend(stack[len(stack) - count :])
        case "index":
            depth = int(stack.pop())
            if not 0 <= depth < len(stack):
                raise BadProgramError("index of what is not there")
            stack.append(stack[-1 - depth])
        case "roll":
            by = int(stack.pop())
            count = int(stack.pop())
            if not 0 <= count <= len(stack):
                raise BadProgramError("roll of what is not there")
            if count:
                top = stack[-count:]
                by %= count
                stack[-count:] = top[-by:] + top[:-by] if by else top
