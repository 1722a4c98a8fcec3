"""Kernels that only kernels call, made callable for a test."""

from __future__ import annotations

from typing import Any

from numba import njit


def from_python(kernel: Any) -> Any:
    """The same function compiled for a caller in Python."""
    return njit(error_model="numpy")(kernel.py_func)  # the cache would hand it the kernel as it stands
