"""The engineering of Ramwright: SI inside, no web, no clock, no randomness without a seed.

Compiled kernels are cached on disk. numba notices a change in the file a kernel stands in, but not in a file whose
functions or constants it inlines; so the cache folder is named after a digest of every source that holds kernels or
constants they read.
"""

import hashlib
import os
import tempfile
from pathlib import Path

CONSTANTS = frozenset({"compiled.py", "quantity.py", "task.py", "sizes.py"})
"""Files without kernels whose constants or record layouts kernels read."""


def _digest(kernels_only: bool) -> str:
    """Digest of the sources of this package: all, or those that compiled kernels depend on."""
    root = Path(__file__).parent
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*.py")):
        source = path.read_bytes()
        if not kernels_only or b"njit" in source or path.name in CONSTANTS:
            digest.update(path.relative_to(root).as_posix().encode())
            digest.update(source)
    return digest.hexdigest()


MODEL_VERSION = f"0.1.0+{_digest(kernels_only=False)[:12]}"
"""Release and digest of all sources: a sizing's id changes with any change of the engineering."""


def _kernel_cache_folder() -> Path:
    """Folder for compiled kernels, one per state of their sources; under the user's cache, or the temporary folder."""
    base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    if not os.access(base if base.exists() else base.parent, os.W_OK):
        base = Path(tempfile.gettempdir())
    return base / "ramwright" / "kernels" / _digest(kernels_only=True)[:16]


os.environ.setdefault("NUMBA_CACHE_DIR", str(_kernel_cache_folder()))
