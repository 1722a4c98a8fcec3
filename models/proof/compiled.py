"""How the run's kernels are compiled: cached, the interpreter let go, division by nothing infinite, sums regrouped.

Not a number stays one: a step that meets it is refused, never taken.
"""

from __future__ import annotations

from typing import Any

COMPILED: dict[str, Any] = {
    "cache": True,
    "error_model": "numpy",
    "nogil": True,
    "fastmath": {"arcp", "contract", "nsz", "reassoc"},
}
