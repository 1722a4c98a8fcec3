"""How the run's kernels are compiled: as all others, and sums may be regrouped.

Not a number stays one: a step that meets it is refused, never taken.
"""

from __future__ import annotations

from typing import Any

from models.compiled import KERNEL

COMPILED: dict[str, Any] = {**KERNEL, "fastmath": {"arcp", "contract", "nsz", "reassoc"}}
