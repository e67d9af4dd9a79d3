"""Two engines from one source: the plain functions themselves, or the same ones compiled.

numba compiles the very functions that the interpreter runs, without fast-math, so both give
the same bits. Its cache does not follow edits in called functions; ours lies in a folder
named by a hash of all sources, so that every edit compiles anew.
"""

from __future__ import annotations

import hashlib
import os
import platform
import sys
import types
from collections.abc import Callable
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, Literal

import numpy as np

from coilward.controller.adding import added
from coilward.simulator import closed

Engine = Literal["auto", "compiled", "interpreted"]
Runner = Callable[..., Any]
PACKAGE = "coilward"
COMPILED_PARTS = ("controller", "simulator")
UNCOUNTED: dict[str, Any] = {"_nrt": False}
"""Nothing that is compiled here makes an array: counting who still holds the buffers, at every
call, cost as much as the work itself. numba refuses to compile what would need the count."""


def can_compile() -> bool:
    """Whether numba is installed."""
    try:
        version("numba")
    except PackageNotFoundError:
        return False
    return True


def chosen(engine: Engine) -> Literal["compiled", "interpreted"]:
    """The engine that will run, unless told otherwise: compiled where that costs no waiting.

    Compiling takes the better part of a minute, longer than the interpreter needs for a night;
    both give the same bits. So "auto" is compiled where a compiled engine lies in the cache.
    Interlocks that were added at run time are known to the interpreter alone.
    Raises RuntimeError when compiling is demanded and can't be.
    """
    if engine == "interpreted":
        return "interpreted"
    if added():
        if engine == "compiled":
            raise RuntimeError("interlocks added at run time need the interpreted engine")
        return "interpreted"
    if engine == "auto":
        return "compiled" if can_compile() and is_compiled() else "interpreted"
    if not can_compile():
        raise RuntimeError("the compiled engine needs numba: pip install numba")
    return "compiled"


def runner(engine: Literal["compiled", "interpreted"]) -> Runner:
    """`closed.run_until` in one of the engines."""
    return closed.run_until if engine == "interpreted" else _compiled_runner()


def with_decide(decide: Callable[..., Any]) -> Runner:
    """`closed.run_until` of the interpreter with another decision function in place of ours."""
    ours = closed.run_until
    scope = {**ours.__globals__, "decide": decide}
    return types.FunctionType(ours.__code__, scope, ours.__name__, ours.__defaults__)


def floats(engine: Literal["compiled", "interpreted"], values: list[float]) -> Any:
    """A flat list of floats as the engine wants it."""
    return values if engine == "interpreted" else np.array(values)


@cache
def _compiled_runner() -> Runner:
    return compiled(closed.run_until)


def compiled(function: Runner) -> Runner:
    """A function, with all that it calls of its own and of this package, compiled and cached."""
    import numba

    config: Any = numba.config
    config.CACHE_DIR = str(cache_folder(function, numba.__version__))
    packages = {PACKAGE, function.__module__.split(".")[0]}
    made: Runner = _compile(function, packages, {}, cached=True)
    return made


def _compile(function: Any, packages: set[str], done: dict[Any, Any], *, cached: bool) -> Any:
    import numba

    if function in done:
        return done[function]
    scope = dict(function.__globals__)
    for name in function.__code__.co_names:
        called = scope.get(name)
        own = isinstance(called, types.FunctionType) and (
            called.__module__.split(".")[0] in packages
        )
        if own:
            scope[name] = _compile(called, packages, done, cached=False)
    copy = types.FunctionType(
        function.__code__, scope, function.__name__, function.__defaults__
    )
    copy.__qualname__ = function.__qualname__
    copy.__module__ = function.__module__
    # Large tuples are handed from function to function: cheaper inlined than called.
    make = numba.njit(cache=cached, error_model="numpy", forceinline=True, **UNCOUNTED)
    done[function] = make(copy)
    return done[function]


def is_compiled() -> bool:
    """Whether the compiled engine of these very sources lies in the cache."""
    return any(cache_folder(closed.run_until, version("numba")).rglob("*.nbi"))


def sources_hash(function: Runner) -> str:
    """Hash over every source file that may be compiled with a function."""
    package = Path(__file__).parent.parent
    folders = [package / part for part in COMPILED_PARTS]
    own = Path(function.__code__.co_filename).parent
    digest = hashlib.sha256()
    for folder in folders if own in folders else [*folders, own]:
        for file in sorted(folder.glob("*.py")):
            digest.update(file.name.encode())
            digest.update(file.read_bytes())
    return digest.hexdigest()[:16]


def cache_folder(function: Runner, numba_version: str) -> Path:
    """Folder for compiled code: in NUMBA_CACHE_DIR if set, else in the user's cache folder."""
    base = os.environ.get("NUMBA_CACHE_DIR") or user_cache()
    python = platform.python_version()
    return Path(base) / f"{sources_hash(function)}-{python}-{numba_version}"


def user_cache() -> Path:
    """The folder of this package in the user's cache folder."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home())) / PACKAGE
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / PACKAGE
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / PACKAGE
