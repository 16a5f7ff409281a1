"""The standard's name of a round cell, which gives its largest size."""

from __future__ import annotations

import math

# Lithium ion, positive electrode, round. I, L; C, N, M, V, T; R, P: IEC 61960 clause 5.1 as
# quoted in a public discussion of it; F for iron since the edition of 2017: from memory.
_LETTERS = {"nmc": "INR", "nca": "INR", "lfp": "IFR"}

# A size this little above a whole millimetre is one by float noise only.
NOISE_MM = 1e-9


def designation(diameter_mm: float, length_mm: float, chemistry: str = "") -> str:
    """Letters (where the chemistry has them), then largest diameter / largest length.

    Both are rounded **up** to whole millimetres; below 1 mm, tenths written ``tN``
    (IEC 61960 clause 5.1). Not to be mixed up with the trade's five figures, where 21700
    means 21 mm by 70.0 mm nominal. Raises ValueError for a size that is not positive.
    """
    return f"{_LETTERS.get(chemistry, '')}{_up(diameter_mm)}/{_up(length_mm)}"


def trade_name(diameter_mm: float, length_mm: float) -> str:
    """The trade's five figures of nominal sizes: 18 mm by 65.0 mm is 18650."""
    return f"{diameter_mm:02.0f}{length_mm * 10.0:03.0f}"


def _up(size_mm: float) -> str:
    if not (math.isfinite(size_mm) and size_mm > 0.0):
        raise ValueError(f"a cell's size must be above 0 mm, not {size_mm}")
    if size_mm < 1.0 - NOISE_MM:
        return f"t{math.ceil(10.0 * (size_mm - NOISE_MM))}"
    return str(math.ceil(size_mm - NOISE_MM))
