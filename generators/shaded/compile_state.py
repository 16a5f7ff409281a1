"""Whether the pictures' inner loops are compiled already; numba itself is not loaded for it."""

from __future__ import annotations

import os
from pathlib import Path

__all__ = ["COMPILING", "is_compiled"]

COMPILING = "compiling the pictures' code once (about 15 s)"
# the last of the modules whose loops are compiled: its index is written when all others are there
LAST = "inking"


def is_compiled() -> bool:
    """Whether numba's index of it lies where numba keeps what it has compiled: beside the module,
    or below ``NUMBA_CACHE_DIR``. False too where it is kept elsewhere, for a folder that can't be
    written."""
    given = os.environ.get("NUMBA_CACHE_DIR")
    pattern = f"{LAST}.coloured*.nbi"
    if given:
        return any(Path(given).rglob(pattern))
    return any((Path(__file__).parent / "__pycache__").glob(pattern))
