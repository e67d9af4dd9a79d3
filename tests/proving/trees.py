"""Formulas as plain tuples, from which both our formula and rtamt's text are made.

    ("level", name, bound, over)   ("not", a)   ("and", a, b, ...)   ("or", a, b, ...)
    ("implies", a, b)   ("since", a, b)   ("until", a, b)   ("sure", a)   ("lasts", a, samples)
    ("always" | "eventually" | "historically" | "once", a, begin, end)
"""

from __future__ import annotations

import math
import warnings
from functools import reduce

from coilward.proving import formulas, robustness

WINDOWS = ("always", "eventually", "historically", "once")
NAMES = ("alpha", "beta", "gamma")


def formula_of(tree):
    """Ours."""
    kind, *rest = tree
    if kind == "level":
        name, bound, over = rest
        return (robustness.at_least if over else robustness.at_most)(name, bound)
    parts = [formula_of(part) for part in rest if isinstance(part, tuple)]
    if kind == "not":
        return ~parts[0]
    if kind in ("and", "or"):
        return reduce(lambda a, b: a & b if kind == "and" else a | b, parts)
    if kind in WINDOWS:
        return getattr(robustness, kind)(parts[0], *rest[1:])
    if kind == "lasts":
        return robustness.lasts(parts[0], rest[1])
    return getattr(robustness, kind)(*parts)


def tree_of(formula):
    """The tuples of one of our formulas, as the builders made it."""
    if isinstance(formula, formulas.Level):
        return ("level", formula.name, formula.bound, formula.over)
    parts = tuple(tree_of(part) for part in formula.parts())
    if isinstance(formula, formulas.Window):
        names = {(False, "least"): "always", (False, "greatest"): "eventually",
                 (True, "least"): "historically", (True, "greatest"): "once"}
        return (names[formula.past, formula.extreme], *parts, formula.begin, formula.end)
    if isinstance(formula, formulas.Lasts):
        return ("lasts", *parts, formula.samples)
    if isinstance(formula, formulas.Chain):
        return ("since" if formula.past else "until", *parts)
    names = {formulas.Opposite: "not", formulas.All: "and", formulas.Any: "or",
             formulas.Sure: "sure"}
    return (names[type(formula)], *parts)


def random_tree(random, depth):
    """A formula out of the whole algebra."""
    if depth == 0 or random.random() < 0.1:
        return ("level", random.choice(NAMES), round(random.uniform(-3, 3), 1),
                random.random() < 0.5)
    kind = random.choice(("not", "and", "or", "implies", "since", "until", "sure", "lasts",
                          *WINDOWS, *WINDOWS))
    def part():
        return random_tree(random, depth - 1)
    if kind in ("not", "sure"):
        return (kind, part())
    if kind == "lasts":
        return (kind, part(), random.randint(0, 12))
    if kind in WINDOWS:
        if random.random() < 0.3:
            return (kind, part(), 0, None)
        begin = random.choice((0, 0, random.randint(0, 20)))
        return (kind, part(), begin, begin + random.choice((0, random.randint(0, 70))))
    return (kind, part(), part(), *((part(),) if kind in ("and", "or") else ()))


def random_trace(random, longest, names=NAMES):
    """Signals of one length: rough ones, smooth ones, flat ones, on a grid that meets bounds."""
    count = random.choice((1, 2, random.randint(3, longest), random.randint(3, longest)))
    signals = {}
    for name in names:
        shape, level = random.random(), random.uniform(-3, 3)
        values = []
        for _ in range(count):
            level += random.gauss(0, 0.0 if shape < 0.2 else 0.4 if shape < 0.6 else 3.0)
            level = max(-5.0, min(5.0, level))
            values.append(round(level, 1) if shape < 0.9 else level)
        signals[name] = values
    return signals


class Oracle:
    """A formula for rtamt, parsed once.

    rtamt has neither ``sure`` nor ``lasts``: what stands inside them is judged by rtamt, turned
    over by a plain loop, and given back to it as a signal.
    """

    def __init__(self, tree):
        self.constants, self.inner = {}, []
        text = self._text(tree)
        names = sorted({*self._names(tree), *self.constants, *(name for name, *_ in self.inner)})
        with warnings.catch_warnings():
            # rtamt's parser takes its types from a module that Python has given up.
            warnings.filterwarnings("ignore", "typing.io is deprecated", DeprecationWarning)
            import rtamt
            self.specification = rtamt.StlDiscreteTimeOfflineSpecification()
            for name in names:
                self.specification.declare_var(name, "float")
            self.specification.spec = text
            self.specification.parse()
        self.interpreter = self.specification.offline_interpreter
        self.interpreter.set_ast(self.specification.ast)

    def _names(self, tree):
        if tree[0] == "level":
            return [tree[1]]
        if tree[0] in ("sure", "lasts"):
            return []
        return [name for part in tree[1:] if isinstance(part, tuple) for name in self._names(part)]

    def _constant(self, value):
        for name, known in self.constants.items():
            if known == value:
                return name
        name = f"bound{len(self.constants)}"
        self.constants[name] = value
        return name

    def _text(self, tree):
        kind, *rest = tree
        if kind == "level":
            name, bound, over = rest
            return f"({name} {'>=' if over else '<='} {self._constant(bound)})"
        if kind in ("sure", "lasts"):
            name = f"inner{len(self.inner)}"
            self.inner.append((name, kind, Oracle(rest[0]), rest[1:]))
            return f"({name} >= {self._constant(0.0)})"
        parts = [self._text(part) for part in rest if isinstance(part, tuple)]
        if kind == "not":
            return f"(not {parts[0]})"
        if kind in WINDOWS:
            begin, end = rest[1:]
            return f"({kind}{'' if end is None else f'[{begin}:{end}]'} {parts[0]})"
        words = {"implies": "->"}
        return reduce(lambda a, b: f"({a} {words.get(kind, kind)} {b})", parts)

    def robustness(self, signals):
        """At every sample."""
        count = len(next(iter(signals.values())))
        data = {name: list(values) for name, values in signals.items()}
        data |= {name: [value] * count for name, value in self.constants.items()}
        for name, kind, oracle, more in self.inner:
            within = oracle.robustness(signals)
            data[name] = sured(within) if kind == "sure" else lasting(within, *more)
        return self._evaluated(data, count)

    def _evaluated(self, data, count):
        # Its public call fails on a single sample, where there is no time step to check.
        self.interpreter.set_variable_to_ast_from_dataset(data)
        return self.interpreter.visitAst(self.specification.ast, count)[-1]


def sured(values):
    return [math.inf if value >= 0 else -math.inf for value in values]


def lasting(values, samples):
    found, run = [], 0
    for value in values:
        run = run + 1 if value >= 0 else 0
        found.append(float(run - samples))
    return found
