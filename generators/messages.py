"""What commands say on stderr: one line at a time, checks with their figures."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from layouts.checks import Check

__all__ = ["tell", "told_check"]


def tell(text: str) -> None:
    """Print to stderr."""
    print(text, file=sys.stderr)


def told_check(check: Check) -> str:
    """One failing check in one line."""
    figures = ""
    if check.value is not None:
        unit = f" {check.unit}" if check.unit else ""
        figures = f": {check.value:.6g}{unit}"
        if check.limit is not None:
            figures += f", {'at least' if check.at_least else 'at most'} {check.limit:.6g}{unit}"
    where = f" ({check.where})" if check.where else ""
    return f"  {check.id}: {check.about}{figures}{where}; {check.remedy}"
