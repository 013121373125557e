"""Templates filled in with plain data: text grows only as the template is written, and nothing else can happen.

A template is wording that somebody edits at a desk, so a slip in one must not
hang the print and a borrowed one must not read a file.  What may stand in a
template is a short list of syntax; everything else is refused by name and line
before it runs.  Strings cannot be multiplied, joined or kept, so the page can
only hold what the template spells out or a counted loop repeats.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

from jinja2 import StrictUndefined, TemplateError, nodes
from jinja2.exceptions import SecurityError, UndefinedError
from jinja2.sandbox import ImmutableSandboxedEnvironment

from planner.faults import Fault, Where

LONGEST_RANGE = 200
MOST_TURNS = 5_000
LONGEST_SOURCE = 64_000
LONGEST_OUTPUT = 200_000
LARGEST_NUMBER = 1e12
LONGEST_TAG = 40
"""Words and marks between `{{` and `}}`; the longest of ours has 26 (our choice)."""
DEEPEST = 15
"""Loops and choices in one another; ours go to eight, and Python takes no more than twenty loops (our choice)."""
NUMBER = (int, float)

_ALLOWED: tuple[type[nodes.Node], ...] = (
    nodes.Template, nodes.Output, nodes.TemplateData, nodes.Name, nodes.Getattr, nodes.Getitem, nodes.Const,
    nodes.Compare, nodes.Operand, nodes.And, nodes.Or, nodes.Not, nodes.If, nodes.For, nodes.Test, nodes.Filter,
    nodes.CondExpr, nodes.Add, nodes.Sub, nodes.Mul, nodes.Div, nodes.FloorDiv, nodes.Mod, nodes.Neg, nodes.Pos,
    nodes.Call,
)  # fmt: skip
_LOOP_WORDS = {"index", "index0", "first", "last", "length"}
_PUNCTUATION = re.compile(r"([!-/:-@\[-`{-~])")


class TemplateRefused(Exception):
    """A template that cannot be used; `fault` says where and what to write instead."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.message)
        self.fault = fault


def refused(name: str, line: int, message: str, remedy: str) -> TemplateRefused:
    """The refusal of a template at a line of it."""
    where = Where(file=f"{name}.md", line=max(1, line))
    return TemplateRefused(Fault(code="template.wording", message=message, remedy=remedy, where=where))


def _brief(error: TemplateError) -> str:
    return " ".join((error.message or "").split())[:200]


def _too_deep(name: str, line: int) -> TemplateRefused:
    return refused(name, line, "this is nested too deeply", "Write it shorter, or one part after the other.")


def escaped(text: str) -> str:
    """User text as Markdown that means nothing but itself: one line, every mark of punctuation escaped."""
    return _PUNCTUATION.sub(r"\\\1", " ".join(str(text).split()))


def _finalize(value: object) -> object:
    if isinstance(value, bool) or value is None or not isinstance(value, (str, int, float)):
        if isinstance(value, StrictUndefined):
            return value  # printing it raises, with its name
        raise SecurityError("only words and numbers can be printed")
    return escaped(str(value))


class _Budget:
    """Turns of all loops of one rendering together."""

    def __init__(self) -> None:
        self.left = MOST_TURNS

    def counted(self, values: Any) -> Iterator[Any]:
        for value in list(values):
            self.left -= 1
            if self.left < 0:
                raise SecurityError(f"the loops turn more than {MOST_TURNS} times")
            yield value


def _short_range(*bounds: int) -> range:
    numbers = range(*bounds)
    if len(numbers) > LONGEST_RANGE:
        raise SecurityError(f"a range holds at most {LONGEST_RANGE} numbers")
    return numbers


class _Environment(ImmutableSandboxedEnvironment):
    """Keys of mappings and items of lists; no attribute of any object, no arithmetic but on numbers."""

    intercepted_binops = frozenset(["+", "-", "*", "/", "//", "%"])
    intercepted_unops = frozenset(["+", "-"])

    def getattr(self, obj: Any, attribute: str) -> Any:
        if isinstance(obj, Mapping):
            return obj[attribute] if attribute in obj else self.undefined(obj=obj, name=attribute)
        if type(obj).__name__ in {"LoopContext", "AsyncLoopContext"} and attribute in _LOOP_WORDS:
            return getattr(obj, attribute)
        raise SecurityError(f"'{attribute}' cannot be asked of this value")

    def getitem(self, obj: Any, argument: Any) -> Any:
        if isinstance(obj, Mapping):
            return obj[argument] if argument in obj else self.undefined(obj=obj, name=str(argument))
        if isinstance(obj, Sequence) and not isinstance(obj, str) and isinstance(argument, int):
            if -len(obj) <= argument < len(obj):
                return obj[argument]
            return self.undefined(obj=obj, name=str(argument))
        raise SecurityError("only lists and mappings have items")

    def is_safe_callable(self, obj: Any) -> bool:
        return obj is _short_range

    def call_binop(self, context: Any, operator: str, left: Any, right: Any) -> Any:
        for side in (left, right):
            if isinstance(side, bool) or not isinstance(side, NUMBER):
                raise SecurityError("arithmetic is for numbers only")
        result = super().call_binop(context, operator, left, right)
        if abs(result) > LARGEST_NUMBER:
            raise SecurityError("a number is too large")
        return result

    def call_unop(self, context: Any, operator: str, arg: Any) -> Any:
        if isinstance(arg, bool) or not isinstance(arg, NUMBER):
            raise SecurityError("arithmetic is for numbers only")
        return super().call_unop(context, operator, arg)


def _environment(budget: _Budget) -> _Environment:
    environment = _Environment(
        undefined=StrictUndefined, autoescape=False, trim_blocks=True, lstrip_blocks=True, finalize=_finalize,
        keep_trailing_newline=True, cache_size=0,
    )  # fmt: skip
    filters: dict[str, Callable[..., Any]] = {
        "counted": budget.counted,
        "length": len,
        "lower": lambda t: str(t).lower(),
    }
    tests = {name: environment.tests[name] for name in ("defined", "none", "odd", "even", "number", "string")}
    environment.globals = {"range": _short_range}
    environment.filters = filters
    environment.tests = tests
    return environment


def _refuse_depth(environment: _Environment, name: str, source: str) -> None:
    """What the parser would go into level by level until Python gives up is refused by its words alone."""
    words = depth = 0
    inside = ""
    for line, kind, word in environment.lex(source, name):
        if kind in ("variable_begin", "block_begin"):
            words, inside = 0, kind
        elif kind not in ("data", "whitespace"):
            words += 1
        if words > LONGEST_TAG:
            raise refused(name, line, "this is too long for one pair of braces", "Write it shorter, or in two parts.")
        if words == 1 and kind == "name" and inside == "block_begin":
            depth += 0 if word in ("else", "elif", "include", "set") else -1 if word.startswith("end") else 1
        if depth > DEEPEST:
            raise _too_deep(name, line)


def _checked(tree: nodes.Template, name: str) -> nodes.Template:
    """The syntax tree with only what a template may hold, its loops counted."""

    def walk(node: nodes.Node) -> None:
        line = getattr(node, "lineno", 1) or 1
        if not isinstance(node, _ALLOWED):
            word = type(node).__name__.lower()
            raise refused(name, line, f"'{word}' cannot be used in a template", "Use if, for, values and text only.")
        if isinstance(node, nodes.Call) and not (isinstance(node.node, nodes.Name) and node.node.name == "range"):
            raise refused(name, line, "only range() can be called", "Use range(1, 5), or a value by its name.")
        if isinstance(node, nodes.Filter) and node.name == "counted":
            raise refused(name, line, "'counted' is not a word of templates", "Write the loop without it.")
        if isinstance(node, nodes.For) and node.recursive:
            raise refused(name, line, "a loop cannot call itself", "Write the inner loop out.")
        for child in node.iter_child_nodes():
            walk(child)

    walk(tree)
    for loop in list(tree.find_all(nodes.For)):
        loop.iter = nodes.Filter(loop.iter, "counted", [], [], None, None, lineno=loop.lineno)
    return tree


@lru_cache(maxsize=32)
def _prepared(name: str, source: str) -> tuple[Any, _Budget]:
    """A template checked and compiled once, with the budget that each filling starts anew."""
    budget = _Budget()
    environment = _environment(budget)
    _refuse_depth(environment, name, source)
    tree = _checked(environment.parse(source, name=name), name)
    return environment.from_string(tree), budget


def _asked(value: Any) -> Any:
    """A value as templates ask for it: true is "yes" and false "no", so that what is not known can be neither."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return {key: _asked(each) for key, each in value.items()}
    return [_asked(each) for each in value] if isinstance(value, (list, tuple)) else value


def filled(name: str, source: str, values: Mapping[str, Any]) -> str:
    """Markdown from a template and plain data (mappings, lists, words, numbers, truths); every value is escaped."""
    if len(source) > LONGEST_SOURCE:
        raise refused(name, 1, "the template is too long", f"Keep it under {LONGEST_SOURCE} characters.")
    try:
        template, budget = _prepared(name, source)
        budget.left = MOST_TURNS
        pieces: list[str] = []
        length = 0
        for piece in template.generate(_asked(values)):
            length += len(piece)
            if length > LONGEST_OUTPUT:
                raise refused(name, 1, "the page it makes is too long", "Shorten the loops of the template.")
            pieces.append(piece)
    except TemplateRefused:
        raise
    except UndefinedError as error:
        raise refused(
            name, 1, f"a value it asks for is not there: {_brief(error)}", "Use a name listed at its head."
        ) from None
    except TemplateError as error:
        line = getattr(error, "lineno", 1) or 1
        raise refused(
            name, line, f"it cannot be filled in: {_brief(error)}", "Compare it with the one that came along."
        ) from None
    except (RecursionError, MemoryError):
        raise _too_deep(name, 1) from None
    except (ArithmeticError, ValueError, TypeError, LookupError, SyntaxError) as error:
        text = f"it cannot be filled in: {type(error).__name__}"
        raise refused(name, 1, text, "Compare it with the one that came along.") from None
    return "".join(pieces)
