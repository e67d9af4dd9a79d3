"""Named tuples as the C has them, and back."""

from __future__ import annotations

import ctypes
from typing import get_args, get_type_hints


def structure(kind):
    """A named tuple as the C has it."""
    simple = {float: ctypes.c_double, int: ctypes.c_int64, bool: ctypes.c_bool}
    fields = []
    for name, hint in get_type_hints(kind).items():
        if hasattr(hint, "_fields"):
            fields.append((name, structure(hint)))
        else:
            fields.append((name, simple.get(hint) or ctypes.c_int64 * len(get_args(hint))))
    return type(kind.__name__, (ctypes.Structure,), {"_fields_": fields})


def as_tuple(kind, found):
    """A structure as a named tuple."""
    values = []
    for name, hint in get_type_hints(kind).items():
        value = getattr(found, name)
        plain = tuple(value) if isinstance(value, ctypes.Array) else value
        values.append(as_tuple(hint, value) if hasattr(hint, "_fields") else plain)
    return kind(*values)
