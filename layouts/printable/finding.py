"""One place of a part that is hard to print, and one kind of look at a part's layers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from shapely.geometry.base import BaseGeometry

from layouts.printable.layers import PartLayers

__all__ = ["Look", "PrintCheck", "PrintFinding", "Severity"]


class Severity(Enum):
    """``FAILS``: the check does not hold; ``WARNS``: it is told, and no more."""

    FAILS = "fails"
    WARNS = "warns"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PrintFinding:
    """One place, in the coordinates of the part's own file: as printed, z = 0 on the bed.

    ``kind``: id of the check. ``what``: in words, with further figures. ``value`` and ``limit``
    in ``unit``. ``region``: the place in plan [mm]; ``outline``: the layer that it is seen on,
    for its picture, which is the layer below where something lies over nothing."""

    kind: str
    part: str
    what: str
    at_mm: tuple[float, float, float]
    value: float
    unit: str
    limit: float
    severity: Severity
    region: BaseGeometry
    outline: BaseGeometry


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Look:
    """What a look at one part gave: ``worst`` of all figures, also of those within the limit, and
    the findings beyond it. ``worst`` None: nothing there to measure. ``limit``: on this printer,
    where the check has none of its own."""

    worst: float | None
    limit: float | None = None
    findings: tuple[PrintFinding, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PrintCheck:
    """One kind of look; fields as of ``Check``, ``look`` at the layers of one part. ``title``:
    what is found, in a word or two. ``only_told``: it warns and never fails, and so stands among
    the findings alone, not among the checks."""

    id: str
    title: str
    about: str
    limit: float | None
    unit: str
    source: str
    remedy: str
    look: Callable[[PartLayers], Look]
    at_least: bool = False
    only_told: bool = False
