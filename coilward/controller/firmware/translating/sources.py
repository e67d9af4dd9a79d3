"""The controller's modules as text: where each name of each of them is at home."""

from __future__ import annotations

import ast
import importlib
import inspect
import io
import tokenize
from dataclasses import dataclass, field
from types import ModuleType
from typing import Any, get_origin, get_type_hints

from coilward.controller.firmware.translating.kinds import (
    FLOAT,
    TRUTH,
    Kind,
    Row,
    Scalar,
    Several,
    Structure,
    Table,
    Whole,
)
from coilward.controller.firmware.translating.refusing import refusal

PACKAGE = "coilward.controller"


@dataclass(frozen=True)
class Symbol:
    """A name where it is at home. Sorts by module and name."""

    what: str
    """function, constant, structure or module."""
    module: str
    name: str


@dataclass
class Source:
    """One module: its text, its tree, what it defines and what it imports."""

    name: str
    """Last part of the dotted name."""
    file: str
    module: ModuleType
    words: str
    functions: dict[str, ast.FunctionDef] = field(default_factory=dict)
    classes: dict[str, ast.ClassDef] = field(default_factory=dict)
    constants: dict[str, str] = field(default_factory=dict)
    """Names assigned at the top, with the words beneath each."""
    values: dict[str, ast.expr] = field(default_factory=dict)
    """What is written behind a name that is assigned alone."""
    imports: dict[str, tuple[str, str]] = field(default_factory=dict)
    """Local name to (module, name there); the name is empty where a module is imported."""
    comments: dict[int, str] = field(default_factory=dict)
    """Comments that have a line for themselves, by that line."""
    empty: set[int] = field(default_factory=set)
    """Lines with nothing in them."""


def read_source(module: ModuleType) -> Source:
    """A module as its names."""
    text = inspect.getsource(module)
    tree = ast.parse(text)
    short = module.__name__.rpartition(".")[2]
    package = module.__name__.replace(".", "/")
    source = Source(short, f"{package}.py", module, ast.get_docstring(tree) or "")
    for at, node in enumerate(tree.body):
        if isinstance(node, ast.FunctionDef):
            source.functions[node.name] = node
        elif isinstance(node, ast.ClassDef):
            source.classes[node.name] = node
        elif isinstance(node, (ast.Assign, ast.AnnAssign)):
            words = words_below(tree.body, at)
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            if len(targets) == 1 and isinstance(targets[0], ast.Name) and node.value is not None:
                source.values[targets[0].id] = node.value
            for target in targets:
                for each in target.elts if isinstance(target, ast.Tuple) else [target]:
                    if isinstance(each, ast.Name):
                        source.constants[each.id], words = words, ""
        elif isinstance(node, ast.ImportFrom):
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                here = alias.asname or alias.name
                is_module = isinstance(getattr(module, here, None), ModuleType)
                home = (whole, "") if is_module else (node.module or "", alias.name)
                source.imports[here] = home
    source.empty |= {at for at, line in enumerate(text.splitlines(), 1) if not line.strip()}
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT and token.line.strip().startswith("#"):
            source.comments[token.start[0]] = token.string.lstrip("# ")
    return source


def words_below(body: list[ast.stmt], at: int) -> str:
    """The string that stands beneath a statement, as its explanation."""
    if at + 1 < len(body):
        below = body[at + 1]
        if isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant):
            return inspect.cleandoc(str(below.value.value))
    return ""


class Sources:
    """All modules that have been read, and the kinds of what they define."""

    def __init__(self) -> None:
        """Nothing is read before it is asked for."""
        self.read: dict[str, Source] = {}
        self._structures: dict[type, Structure] = {}
        self._rows: dict[str, Row] = {}
        self._constants: dict[tuple[str, str], Kind] = {}
        self._results: dict[tuple[str, str], tuple[dict[str, Kind], Kind]] = {}

    def source(self, dotted: str) -> Source:
        """A module by its dotted name; what it imports of the controller is read before it."""
        if dotted not in self.read:
            found = read_source(importlib.import_module(dotted))
            for module, _ in found.imports.values():
                if module.startswith(PACKAGE):
                    self.source(module)
            self.read[dotted] = found
        return self.read[dotted]

    def symbol(self, dotted: str, name: str) -> Symbol | None:
        """What a name means in a module, and where it is at home; None for one of Python's own."""
        source = self.source(dotted)
        if name in source.functions:
            return Symbol("function", dotted, name)
        if name in source.classes:
            return Symbol("structure", dotted, name)
        if name in source.constants:
            return Symbol("constant", dotted, name)
        if name in source.imports:
            module, there = source.imports[name]
            if not module.startswith(PACKAGE):
                return None
            return self.symbol(module, there) if there else Symbol("module", module, "")
        return None

    def value(self, symbol: Symbol) -> Any:
        """The value of a constant or class, or the function itself."""
        return getattr(self.source(symbol.module).module, symbol.name)

    def structure(self, cls: type) -> Structure:
        """A named tuple as a structure."""
        if cls not in self._structures:
            source = self.source(cls.__module__)
            hints = get_type_hints(cls)
            node = source.classes[cls.__name__]
            fields = tuple(
                (name, self.kind(hints[name], source, node)) for name in cls._fields  # type: ignore[attr-defined]
            )
            self._structures[cls] = Structure(cls.__name__, cls.__module__, fields)
        return self._structures[cls]

    def kind(self, hint: Any, source: Source, node: ast.AST) -> Kind:
        """The kind of an annotation, a new class of numbers for each whole one."""
        if hint is float:
            return FLOAT
        if hint is bool:
            return TRUTH
        if hint is int:
            return Whole()
        if isinstance(hint, type) and hasattr(hint, "_fields"):
            return self.structure(hint)
        if get_origin(hint) is tuple:
            parts = hint.__args__
            row = self._row(hint)
            if row is not None:
                return row
            if all(part in (float, bool, int) for part in parts):
                each = [self.kind(part, source, node) for part in parts]
                return Several(tuple(kind for kind in each if isinstance(kind, Scalar)))
        raise refusal(
            source.file, node, f"{hint} has no translation",
            "float, bool, int, a NamedTuple, or a tuple of a fixed length that has a name",
        )

    def _row(self, hint: Any) -> Row | None:
        for dotted, source in self.read.items():
            for name in source.constants:
                if getattr(source.module, name, None) == hint:
                    if name not in self._rows:
                        first = hint.__args__[0]
                        each = FLOAT if first is float else Whole()
                        self._rows[name] = Row(name, dotted, len(hint.__args__), each)
                    return self._rows[name]
        return None

    def constant(self, symbol: Symbol, node: ast.AST) -> Kind:
        """The kind of a module's constant."""
        key = (symbol.module, symbol.name)
        if key not in self._constants:
            self._constants[key] = self._constant(symbol, node)
        return self._constants[key]

    def _constant(self, symbol: Symbol, node: ast.AST) -> Kind:
        value = self.value(symbol)
        source = self.source(symbol.module)
        hint = get_type_hints(source.module).get(symbol.name)
        if hint is not None and get_origin(hint) is tuple and Ellipsis not in hint.__args__:
            return self.kind(hint, source, node)
        if isinstance(value, tuple) and hasattr(value, "_fields"):
            return self.structure(type(value))
        if isinstance(value, tuple) and all(type(each) is int for each in value):
            return Table(Whole())
        return self.kind(type(value), source, node)

    def listed(self, symbol: Symbol) -> list[Symbol] | None:
        """The constants that a constant tuple is written of; None for anything else."""
        node = self.source(symbol.module).values.get(symbol.name)
        if not isinstance(node, ast.Tuple):
            return None
        found = [self._named(symbol.module, each) for each in node.elts]
        kept = [each for each in found if each is not None and each.what == "constant"]
        return kept if len(kept) == len(found) else None

    def _named(self, dotted: str, node: ast.expr) -> Symbol | None:
        if isinstance(node, ast.Name):
            return self.symbol(dotted, node.id)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            module = self.symbol(dotted, node.value.id)
            if module is not None and module.what == "module":
                return self.symbol(module.module, node.attr)
        return None

    def signature(self, symbol: Symbol) -> tuple[dict[str, Kind], Kind]:
        """The kinds of a function's arguments, and of its result."""
        key = (symbol.module, symbol.name)
        if key not in self._results:
            source, function = self.source(symbol.module), self.value(symbol)
            node = source.functions[symbol.name]
            hints = get_type_hints(function)
            kinds = {name: self.kind(hint, source, node) for name, hint in hints.items()}
            self._results[key] = (kinds, kinds.pop("return"))
        return self._results[key]

    def constant_result(self, symbol: Symbol) -> int | None:
        """The whole number that a function returns whatever it is asked, if that is all it does."""
        body = without_words(self.source(symbol.module).functions[symbol.name].body)
        if len(body) == 1 and isinstance(body[0], ast.Return):
            value = body[0].value
            if isinstance(value, ast.Constant) and type(value.value) is int:
                return value.value
        return None


def without_words(body: list[ast.stmt]) -> list[ast.stmt]:
    """A body without its docstring."""
    first = body[0]
    if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
        return body[1:]
    return body
