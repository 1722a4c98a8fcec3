"""How the run's kernels are compiled: cached, the interpreter let go, division by nothing infinite, sums regrouped, and
without counting references to arrays.

Not a number stays one: a step that meets it is refused, never taken. Counting took a third of a run's time; without it
a kernel can allocate nothing, so that arrays are made and held by whoever calls it from Python.
"""

from __future__ import annotations

from typing import Any

COMPILED: dict[str, Any] = {
    "cache": True,
    "error_model": "numpy",
    "nogil": True,
    "_nrt": False,
    "fastmath": {"arcp", "contract", "nsz", "reassoc"},
}
