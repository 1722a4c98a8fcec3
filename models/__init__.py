"""The engineering of Ramwright: SI inside, no web, no clock, no randomness without a seed.

Compiled kernels are cached on disk. numba notices a change in the file a kernel stands in, but not in a file whose
functions it inlines; so the cache folder is named after a digest of every source in this package.
"""

import hashlib
import os
import tempfile
from pathlib import Path

MODEL_VERSION = "0.1.0"


def _kernel_cache_folder() -> Path:
    """Folder for compiled kernels, one per state of the sources; under the user's cache, or the temporary folder."""
    root = Path(__file__).parent
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*.py")):
        digest.update(path.relative_to(root).as_posix().encode())
        digest.update(path.read_bytes())
    base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    if not os.access(base if base.exists() else base.parent, os.W_OK):
        base = Path(tempfile.gettempdir())
    return base / "ramwright" / "kernels" / digest.hexdigest()[:16]


os.environ.setdefault("NUMBA_CACHE_DIR", str(_kernel_cache_folder()))
