"""Bending of a floor or lid: a rectangular plate, simply supported all round, under small loads.

The sag of a simply supported rectangular plate is a double sine series whose terms follow from the
load one by one (Navier's solution; Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells,
from memory). Nothing is read off a table. Sag is linear in the load: tension in the plate's plane
is not counted, which is on the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from layouts.parts.shell import Rect

__all__ = [
    "POISSON", "PlateBending", "SquareLoad", "bent_across", "bent_by", "bent_by_stiff_body",
    "square_of",
]  # fmt: skip

Floats = NDArray[np.float64]

POISSON = 0.35  # of printed polymers; handbook values of 0.33 to 0.40, from memory
TERMS = 80  # of the series along each side
GRID = 41  # places along each side where moments are looked for, and under each load
BALANCE_WEIGHT = 1e4  # of the three balances against the fit of the contact
BALANCED_RATIO = 1e-3  # of the force that a balance may be off by


@dataclass(frozen=True, kw_only=True, slots=True)
class SquareLoad:
    """A force spread evenly over an upright rectangle of the plate. ``force_n``: across it."""

    area: Rect
    force_n: float


@dataclass(frozen=True, kw_only=True, slots=True)
class PlateBending:
    """What does not depend on the plate's thickness.

    ``moment_n``: largest principal bending moment for each mm of width [N mm/mm], at ``at_mm``.
    ``stiff_sag_n_mm2``: deepest sag x plate stiffness D [N mm2]. ``forces_n``: of the loads.
    """

    moment_n: float
    at_mm: tuple[float, float]
    stiff_sag_n_mm2: float
    forces_n: tuple[float, ...]

    def stress_mpa(self, thick_mm: float) -> float:
        """Bending stress at the plate's faces, 6 M / t^2 [MPa]."""
        return 6.0 * self.moment_n / thick_mm**2

    def sag_mm(self, thick_mm: float, modulus_mpa: float) -> float:
        """Deepest sag, D = E t^3 / (12 (1 - nu^2)) [mm]."""
        return self.stiff_sag_n_mm2 * 12.0 * (1.0 - POISSON**2) / (modulus_mpa * thick_mm**3)

    def least_mm(self, *, stress_mpa: float, sag_mm: float, modulus_mpa: float) -> float:
        """The thickness with which neither is exceeded [mm]."""
        by_stress = math.sqrt(self.stress_mpa(1.0) / stress_mpa)
        return max(by_stress, math.cbrt(self.sag_mm(1.0, modulus_mpa) / sag_mm))


def bent_by(plate: Rect, loads: Sequence[SquareLoad]) -> PlateBending:
    """A plate under loads that are known."""
    series = _Series.of(plate, [load.area for load in loads])
    return series.bending(np.array([load.force_n for load in loads]))


def bent_by_stiff_body(
    plate: Rect,
    pads: Sequence[tuple[float, float, float]],
    *,
    force_n: float,
    at_mm: tuple[float, float],
) -> PlateBending | None:
    """A plate on whose pads a body stands that does not bend, pressed on with a force at a point.

    ``pads``: x, y and radius of each [mm], on the plate. How much each carries follows from the
    plate's bending: the body stays plane, may tilt, and pulls on no pad. None where no such forces
    balance: fewer than three pads, or the point outside of them.
    """
    if len(pads) < 3:
        return None
    series = _Series.of(plate, [square_of(x, y, radius) for x, y, radius in pads])
    plane = np.array([(1.0, x - at_mm[0], y - at_mm[1]) for x, y, _ in pads])
    forces = _contact(series.influence(), plane, force_n)
    return None if forces is None else series.bending(forces)


def bent_across(
    plate: Rect, loads: Sequence[SquareLoad], axis: int, at_mm: Sequence[float]
) -> tuple[Floats, Floats]:
    """What crosses lines square to an axis (0: x, 1: y) at places along it.

    For each line the largest bending moment that turns its two sides against each other, and the
    largest shear force across the plate, both for each mm along the line [N mm/mm, N/mm]."""
    series = _Series.of(plate, [load.area for load in loads])
    return series.across(np.array([load.force_n for load in loads]), axis, np.array(at_mm))


def square_of(x_mm: float, y_mm: float, radius_mm: float) -> Rect:
    """As large as a round pad."""
    half = math.sqrt(math.pi) / 2 * radius_mm
    return Rect(x0=x_mm - half, x1=x_mm + half, y0=y_mm - half, y1=y_mm + half)


def _contact(influence: Floats, plane: Floats, force_n: float) -> Floats | None:
    """Forces of pads, none below 0, that balance the force and bend the plate with least work.

    ``influence`` (n, n): sag at each pad by a unit force on each; ``plane`` (n, 3)."""
    scale = np.abs(plane).max(axis=0) + 1.0  # one where all pads lie on a line through the point
    balance = BALANCE_WEIGHT * (plane / scale).T
    work = np.linalg.cholesky(influence / influence.diagonal().mean()).T
    wanted = np.zeros(len(work) + 3)
    wanted[len(work)] = BALANCE_WEIGHT / scale[0]
    shares, _ = nnls(np.vstack([work, balance]), wanted)
    off = np.abs((plane / scale).T @ shares - wanted[len(work) :] / BALANCE_WEIGHT)
    if off.max() > BALANCED_RATIO:
        return None
    return np.asarray(shares * force_n / shares.sum())


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Series:
    """Double sine series of a plate of stiffness 1, one for each load area.

    ``alpha``, ``beta`` (n,): m pi / a and n pi / b; ``load`` (k, n, n): coefficients of a unit
    force on each area; ``middle`` (k, 2): of each area, from the plate's corner."""

    corner: tuple[float, float]
    alpha: Floats
    beta: Floats
    load: Floats
    middle: Floats

    @classmethod
    def of(cls, plate: Rect, areas: Sequence[Rect]) -> _Series:
        """The series of areas on a plate."""
        a, b = plate.size_mm
        order = np.arange(1.0, TERMS + 1.0)
        alpha, beta = order * math.pi / a, order * math.pi / b
        load, middle = [], []
        for area in areas:
            x = _share(area.x0 - plate.x0, area.x1 - plate.x0, alpha, a)
            y = _share(area.y0 - plate.y0, area.y1 - plate.y0, beta, b)
            load.append(np.outer(x, y))
            middle.append(np.subtract(area.centre_mm, (plate.x0, plate.y0)))
        return cls(
            corner=(plate.x0, plate.y0), alpha=alpha, beta=beta, load=np.array(load),
            middle=np.array(middle),
        )  # fmt: skip

    @property
    def flexibility(self) -> Floats:
        """(n, n): sag of each term by its load, D = 1."""
        return np.asarray(1.0 / (self.alpha[:, None] ** 2 + self.beta**2) ** 2)

    def influence(self) -> Floats:
        """(k, k): mean sag over each area by a unit force on each, D = 1: symmetric."""
        a, b = math.pi / self.alpha[0], math.pi / self.beta[0]
        by = self.load * self.flexibility
        return np.asarray(np.einsum("imn,jmn->ij", self.load, by) * a * b / 4)

    def across(self, forces_n: Floats, axis: int, at_mm: Floats) -> tuple[Floats, Floats]:
        """Largest moment and shear across each of the lines square to an axis."""
        sag = np.tensordot(forces_n, self.load, axes=1) * self.flexibility
        mine, other = (self.alpha, self.beta) if axis == 0 else (self.beta, self.alpha)
        sag = sag if axis == 0 else sag.T
        angle = np.outer(at_mm - self.corner[axis], mine)
        along = np.sin(np.outer(np.linspace(0.0, math.pi / other[0], 2 * GRID - 1), other))
        both = mine[:, None] ** 2 + other**2
        bent = sag * (mine[:, None] ** 2 + POISSON * other**2)
        moment = np.sin(angle) @ bent @ along.T
        shear = np.cos(angle) @ (sag * mine[:, None] * both) @ along.T
        return np.abs(moment).max(axis=1), np.abs(shear).max(axis=1)

    def bending(self, forces_n: Floats) -> PlateBending:
        """Sag and largest moment on a grid and at the loads."""
        a, b = math.pi / self.alpha[0], math.pi / self.beta[0]
        x = np.concatenate([np.linspace(0.0, a, GRID), self.middle[:, 0]])
        y = np.concatenate([np.linspace(0.0, b, GRID), self.middle[:, 1]])
        sag = np.tensordot(forces_n, self.load, axes=1) * self.flexibility
        sin_x, sin_y = np.sin(np.outer(x, self.alpha)), np.sin(np.outer(y, self.beta))
        cos_x, cos_y = np.cos(np.outer(x, self.alpha)), np.cos(np.outer(y, self.beta))
        xx = sin_x @ (sag * self.alpha[:, None] ** 2) @ sin_y.T
        yy = sin_x @ (sag * self.beta**2) @ sin_y.T
        mx, my = xx + POISSON * yy, POISSON * xx + yy
        twist = (1.0 - POISSON) * (cos_x @ (sag * np.outer(self.alpha, self.beta)) @ cos_y.T)
        principal = np.abs(mx + my) / 2 + np.hypot((mx - my) / 2, twist)
        i, j = np.unravel_index(int(np.argmax(principal)), principal.shape)
        return PlateBending(
            moment_n=float(principal[i, j]),
            at_mm=(self.corner[0] + float(x[i]), self.corner[1] + float(y[j])),
            stiff_sag_n_mm2=float((sin_x @ sag @ sin_y.T).max()),
            forces_n=tuple(forces_n.tolist()),
        )


def _share(low_mm: float, high_mm: float, wave: Floats, side_mm: float) -> Floats:
    """Sine coefficients of a unit load spread from one point to another of a side."""
    spread = (np.cos(wave * low_mm) - np.cos(wave * high_mm)) / wave
    return np.asarray(2.0 / side_mm * spread / (high_mm - low_mm))
