"""How kernels are compiled: `@njit(**KERNEL)` and its kin.

All let go of the interpreter, and divide by nothing to infinity. None has a wrapper for callers in C, for there are
none. A kernel does not count references to arrays: counting, which numba does with locked instructions at every slice
and call, took half of a search's time. Without it a kernel can neither allocate an array nor return one: what it needs
is made by whoever calls it. Only an ALLOCATING kernel counts. What Python calls is cached on disk; what only kernels
call stands in its callers' entries, and has no wrapper for Python: called from there it would crash. Knows no
engineering.
"""

from __future__ import annotations

from typing import Any

_ANY: dict[str, Any] = {"error_model": "numpy", "nogil": True, "no_cfunc_wrapper": True}

ALLOCATING: dict[str, Any] = {**_ANY, "cache": True}
"""A kernel that makes arrays of its own or returns one."""

KERNEL: dict[str, Any] = {**ALLOCATING, "_nrt": False}
"""A kernel that allocates nothing."""

INNER: dict[str, Any] = {**_ANY, "_nrt": False, "no_cpython_wrapper": True}
"""A kernel that other kernels call and Python never does: quicker to compile."""

WITHIN: dict[str, Any] = {**INNER, "inline": "always"}
"""An inner kernel that one kernel calls from one place: compiled as a part of that."""
