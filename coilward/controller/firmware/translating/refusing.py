"""How a line that has no translation is refused."""

from __future__ import annotations

import ast

from coilward.loop.errors import Fault, InputRefused


def refusal(file: str, node: ast.AST, problem: str, accepted: str) -> InputRefused:
    """One fault of one line, with what it says and what would be accepted."""
    line = getattr(node, "lineno", None)
    said = ast.unparse(node).splitlines()[0][:60] if isinstance(node, (ast.expr, ast.stmt)) else ""
    return InputRefused([Fault(file, line, "", said, problem, accepted)])
