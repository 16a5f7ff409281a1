"""Forces in a set of brackets: they follow stiffness, since print breaks before it yields.

The pack is a stiff body on springs. Loads come along all three axes at once, with every sign. A
hold that only pushes lets go when it is pulled; friction slips and keeps its force."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.holding import FrameHold, HeldBody
from layouts.physics import GRAVITY_M_S2

__all__ = ["Answer", "answer_of", "frequencies_hz", "load_signs_n", "point_forces_n", "rows_of"]

Floats = NDArray[np.float64]

WORST_CONDITION = 1e6  # of the stiffness: beyond that some motion is as good as free
ROUNDS = 16  # of letting go and slipping; each takes a hold out at least
SIGNS = tuple(itertools.product((-1.0, 1.0), repeat=3))


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """How a set of brackets answers the load.

    ``use``: greatest sum of force over cap in one place of a bracket, inf where the pack is not
    held;
    ``worst``: number of that bracket; ``force_n``, ``at_mm``, ``way``, ``cap_n``: its hold that
    comes nearest to its cap. ``lowest_hz``: natural frequency; ``moved_mm``: at most."""

    use: float
    worst: int = 0
    force_n: float = 0.0
    cap_n: float = 0.0
    at_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    way: tuple[float, float, float] = (0.0, 0.0, 0.0)
    lowest_hz: float = 0.0
    moved_mm: float = math.inf


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Rows:
    """All holds of a set: wrenches (n, 6) about the centre of gravity, moments over half the
    diagonal; stiffness, least and most force (n,); whether it slips; numbers of its bracket and of
    its place."""

    wrenches: Floats
    stiffness: Floats
    least: Floats
    most: Floats
    slips: NDArray[np.bool_]
    owner: NDArray[np.int64]
    place: NDArray[np.int64]


def rows_of(body: HeldBody, chosen: Sequence[FrameHold]) -> Rows:
    """The holds of a set in one table."""
    points = [point for one in chosen for point in one.points]
    length = body.half_diagonal_mm
    numbers: dict[tuple[int, tuple[float, float, float]], int] = {}
    places = [
        numbers.setdefault((k, point.at_mm), len(numbers))
        for k, one in enumerate(chosen)
        for point in one.points
    ]
    return Rows(
        wrenches=np.vstack([one.wrenches(body.centre_mm, length) for one in chosen]),
        stiffness=np.array([point.stiffness_n_mm for point in points]),
        least=np.array([-point.against_n for point in points]),
        most=np.array([point.along_n for point in points]),
        slips=np.array([point.slips for point in points]),
        owner=np.repeat(np.arange(len(chosen)), [len(one.points) for one in chosen]),
        place=np.array(places),
    )


def load_signs_n(body: HeldBody) -> Floats:
    """(8, 6) forces of the load on the pack, with every sign; no moments about its centre."""
    force = body.mass_kg * GRAVITY_M_S2 * np.asarray(body.load_g)
    return np.hstack([np.array(SIGNS) * force, np.zeros((len(SIGNS), 3))])


def answer_of(body: HeldBody, chosen: Sequence[FrameHold]) -> Answer:
    """Use of the brackets under the body's load, lowest frequency and greatest shift."""
    rows = rows_of(body, chosen)
    points = [point for one in chosen for point in one.points]
    worst = Answer(use=-1.0)
    moved = 0.0
    for load in load_signs_n(body):
        found = point_forces_n(rows, load)
        if found is None:
            return Answer(use=math.inf)
        force, shift = found
        moved = max(moved, float(np.linalg.norm(shift[:3])))
        judged = np.where(rows.slips, 0.0, force)
        cap = np.where(judged > 0.0, rows.most, -rows.least)
        share = np.abs(judged) / np.where(cap > 0.0, cap, 1.0)
        uses = np.bincount(rows.place, share)
        if uses.max() > worst.use:
            there = rows.place == int(uses.argmax())
            one = int(np.where(there, share, -1.0).argmax())
            worst = Answer(
                use=float(uses.max()), worst=int(rows.owner[one]), force_n=float(force[one]),
                cap_n=float(cap[one]), at_mm=points[one].at_mm, way=points[one].way,
            )  # fmt: skip
    return Answer(
        use=worst.use, worst=worst.worst, force_n=worst.force_n, cap_n=worst.cap_n,
        at_mm=worst.at_mm, way=worst.way, moved_mm=moved,
        lowest_hz=float(_frequencies_hz(body, rows)[0]),
    )  # fmt: skip


def point_forces_n(rows: Rows, load: Floats) -> tuple[Floats, Floats] | None:
    """(n,) force of each hold on the pack under a load (6,), and the pack's shift (6,); None where
    what is left does not hold it."""
    on = np.ones(len(rows.stiffness), dtype=np.bool_)
    asked = np.asarray(load, dtype=np.float64)
    slid = np.zeros(len(on))
    for _ in range(ROUNDS):
        held = rows.wrenches[on]
        stiff = (held.T * rows.stiffness[on]) @ held
        if np.linalg.cond(stiff) > WORST_CONDITION:
            return None
        shift = np.linalg.solve(stiff, -asked)
        force = np.where(on, rows.wrenches @ shift * rows.stiffness, 0.0)
        free = on & (((force < 0.0) & (rows.least == 0.0)) | ((force > 0.0) & (rows.most == 0.0)))
        slipping = on & rows.slips & ~free & ((force > rows.most) | (force < rows.least))
        if not (free | slipping).any():
            return force + slid, np.asarray(-shift, dtype=np.float64)
        on &= ~(free | slipping)
        kept = np.where(slipping, np.clip(force, rows.least, rows.most), 0.0)
        slid += kept
        asked = asked + rows.wrenches.T @ kept
    return None


def frequencies_hz(body: HeldBody, chosen: Sequence[FrameHold]) -> Floats:
    """(6,) natural frequencies on all holds, lowest first."""
    return _frequencies_hz(body, rows_of(body, chosen))


def _frequencies_hz(body: HeldBody, rows: Rows) -> Floats:
    """Of the body, evenly heavy in its box."""
    size = np.subtract(body.high_mm, body.low_mm)
    turning = body.mass_kg / 12.0 * (np.sum(size**2) - size**2) / body.half_diagonal_mm**2
    inert = np.concatenate([[body.mass_kg] * 3, turning])
    stiff = (rows.wrenches.T * rows.stiffness) @ rows.wrenches * 1000.0
    root = np.sqrt(inert)
    squares = np.linalg.eigvalsh(stiff / root[:, None] / root)
    return np.asarray(np.sqrt(np.maximum(squares, 0.0)) / (2.0 * math.pi))
