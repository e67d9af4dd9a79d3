"""Everything that a few functions need: other functions, structures and constants, with kinds."""

from __future__ import annotations

from collections.abc import Iterable

from coilward.controller.adding import added
from coilward.controller.firmware.translating.inferring import Inferring
from coilward.controller.firmware.translating.kinds import Compound, Kind, Row, Structure
from coilward.controller.firmware.translating.sources import Sources, Symbol


class Program:
    """What is reachable from its roots, module by module."""

    def __init__(self, roots: Iterable[tuple[str, str]]) -> None:
        """Roots are functions: (module, name). Raises InputRefused for what has no translation."""
        if added():
            raise ValueError("interlocks added at run time are known to the interpreter alone")
        self.sources = Sources()
        self.functions: dict[Symbol, Inferring] = {}
        self.constants: dict[Symbol, Kind] = {}
        self.compounds: dict[tuple[str, str], Compound] = {}
        self.roots = [Symbol("function", module, name) for module, name in roots]
        for symbol in self.roots:
            self._reach(symbol)

    def _reach(self, symbol: Symbol) -> None:
        if symbol in self.functions or self.sources.constant_result(symbol) is not None:
            return
        found = Inferring(self.sources, symbol)
        self.functions[symbol] = found
        found.run()
        for kind in (*found.names.values(), found.result):
            self._keep(kind)
        for used in found.used:
            if used.what == "function":
                self._reach(used)
            elif used.what == "constant":
                self.constants[used] = self.sources.constant(used, found.node)
                self._keep(self.constants[used])

    def _keep(self, kind: Kind) -> None:
        if not isinstance(kind, (Structure, Row)) or (kind.module, kind.name) in self.compounds:
            return
        self.compounds[kind.module, kind.name] = kind
        if isinstance(kind, Structure):
            for _, each in kind.fields:
                self._keep(each)

    def modules(self) -> list[str]:
        """The modules with anything in them, each after those that it imports."""
        wanted = {each.module for each in (*self.functions, *self.constants)}
        wanted |= {module for module, _ in self.compounds}
        ordered: list[str] = []

        def visit(dotted: str) -> None:
            if dotted in ordered or dotted not in self.sources.read:
                return
            for module, _ in self.sources.read[dotted].imports.values():
                visit(module)
            ordered.append(dotted)

        for dotted in sorted(wanted):
            visit(dotted)
        return [dotted for dotted in ordered if dotted in wanted]

    def called_from_elsewhere(self, symbol: Symbol) -> bool:
        """Whether another module calls a function."""
        return any(
            symbol in found.used for other, found in self.functions.items()
            if other.module != symbol.module
        )
