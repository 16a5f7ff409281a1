"""How a pack warms up: implicit steps in time from a uniform start or a steady state.

Backward Euler: stable at any step, exact for steady ends and for heating without loss; between
the two, steps of 1/40 of the time constant are off by about 1 % of the rise. Cells store heat
and the enclosure's walls do; holders, strips and air are left out (on the safe side).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.heat.model import HeatModel, at_load, network_of
from layouts.heat.network import HeatNetwork, Solver, factored
from layouts.heat.steady import outside_w_k, soaked_c, steady

__all__ = ["State", "Warm", "at_rest", "state_of", "stepped_through", "time_to_c", "warmed"]

STEPS = 40  # over a required time
ADIABATIC_STEPS = 32  # over the shortest time to a limit, before steps double
DOUBLINGS = 12  # 2^13 - 1 such times: far past any pack's time constant
FILM_ROUNDS = 8  # the outside's film follows its temperature within each step,
STILL_K = 1e-4  # until it moves no more


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class State:
    """Temperatures at one moment, over ambient: ``cell_k`` (N,), ``inside_k`` of the walls,
    ``outside_k``."""

    cell_k: NDArray[np.float64]
    inside_k: float
    outside_k: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Warm:
    """After ``seconds``: ``cell_c`` (N,) of the cans, ``enclosure_c``, ``outside_c``."""

    seconds: float
    cell_c: NDArray[np.float64]
    enclosure_c: float
    outside_c: float

    @property
    def hottest_c(self) -> float:
        """The hottest can."""
        return float(self.cell_c.max())


def at_rest(model: HeatModel) -> State:
    """Everything as it stands without a load: at ambient, or as warm as the sun makes it."""
    soaked_k = soaked_c(model) - model.ambient_c
    return State(cell_k=np.full(len(model.cell_w), soaked_k), inside_k=soaked_k, outside_k=soaked_k)


def state_of(model: HeatModel, warm: Warm) -> State:
    """Where a warming ended, for another to start from."""
    return State(
        cell_k=warm.cell_c - model.ambient_c,
        inside_k=warm.enclosure_c - model.ambient_c,
        outside_k=warm.outside_c - model.ambient_c,
    )


def warmed(model: HeatModel, seconds: float, *, start: State | None = None) -> Warm:
    """Temperatures after ``seconds`` at the model's load, from rest where no start is given.

    Raises ValueError for a time that is not above zero.
    """
    if not seconds > 0:
        raise ValueError("the time must be above zero")
    stepper = _Stepper(model, network_of(model), seconds / STEPS)
    state = at_rest(model) if start is None else start
    for _ in range(STEPS):
        state = stepper.next(state)
    return Warm(
        seconds=seconds,
        cell_c=model.ambient_c + state.cell_k,
        enclosure_c=model.ambient_c + state.inside_k,
        outside_c=model.ambient_c + state.outside_k,
    )


def time_to_c(model: HeatModel, limit_c: float, *, start: State | None = None) -> float | None:
    """Seconds until the hottest can reaches ``limit_c`` at the model's load, None where never.

    Never: its steady temperature lies at the limit or below. 0 where it is there at the start.
    The first steps are 1/32 of the time that the hottest cell would take if it lost no heat;
    they double every 32. Found between two steps on a straight line; at most some 3 % late.
    """
    state = at_rest(model) if start is None else start
    limit_k = limit_c - model.ambient_c
    if float(state.cell_k.max()) >= limit_k:
        return 0.0
    if steady(model).hottest_c <= limit_c:
        return None
    # the hottest cell's neighbours are no warmer: its own heat alone warms it
    most_w = max(float(model.node_w.max()), model.other_w)
    quickest = (limit_k - float(state.cell_k.max())) * model.can.heat_j_k / most_w
    step, at = quickest / ADIABATIC_STEPS, 0.0
    network = network_of(model)
    for _ in range(DOUBLINGS + 1):
        stepper = _Stepper(model, network, step)
        for _ in range(ADIABATIC_STEPS):
            before = float(state.cell_k.max())
            state = stepper.next(state)
            after = float(state.cell_k.max())
            if after >= limit_k:
                return at + step * (limit_k - before) / (after - before)
            at += step
        step *= 2.0
    return None  # so near its steady temperature that it is hours away


def stepped_through(
    model: HeatModel, rows: Sequence[tuple[float, float, int]], *, start: State
) -> Iterator[State]:
    """States after each step of rows (amps, seconds, steps), one after the other.

    Steps of one length share one factor, however many rows there are. 0 A is a row without heat."""
    network = network_of(model)
    steppers: dict[float, _Stepper] = {}
    loads: dict[float, HeatModel] = {}
    state = start
    for amps, seconds, steps in rows:
        step_s = seconds / steps
        if step_s not in steppers:
            steppers[step_s] = _Stepper(model, network, step_s)
        if amps not in loads:
            loads[amps] = at_load(model, amps)
        stepper = steppers[step_s]
        stepper.model, stepper.watt = loads[amps], loads[amps].node_w
        for _ in range(steps):
            state = stepper.next(state)
            yield state


class _Stepper:
    """Implicit steps of one length. The cells' answer to the walls' temperature is solved once:
    each step is then one solve for the cells and one equation for the walls."""

    def __init__(self, model: HeatModel, network: HeatNetwork, step_s: float) -> None:
        self.model, self.step_s = model, step_s
        self.held: NDArray[np.float64] = network.held_w_k
        self.store: NDArray[np.float64] = np.full(len(self.held), model.can.heat_j_k / step_s)
        self.solve: Solver = factored(network, self.store)
        self.watt = model.node_w
        self.answer = self.solve(self.held)  # kelvins of the cells a kelvin of the walls

    def next(self, state: State) -> State:
        """One step on."""
        alone = self.solve(self.store * state.cell_k + self.watt)
        case = self.model.case
        if case is None:
            return State(cell_k=alone, inside_k=0.0, outside_k=0.0)
        taken = float(self.held.sum() - self.held @ self.answer)  # W/K from walls back to cells
        given = float(self.held @ alone) + self.model.other_w
        store = case.heat_j_k / self.step_s
        inside, outside = state.inside_k, state.outside_k
        before: tuple[float, float] | None = None
        for _ in range(FILM_ROUNDS):
            film = outside_w_k(case, max(outside, 0.0), self.model.ambient_c)
            away = 1.0 / (1.0 / case.wall_w_k + 1.0 / film)
            sun_w = case.sun_w * away / film  # what of it reaches the inside at 0 kelvins there
            inside = (given + sun_w + store * state.inside_k) / (store + taken + away)
            off_k = inside * away / film + case.sun_w / (case.wall_w_k + film) - outside
            if abs(off_k) < STILL_K:
                break
            # half way first, for radiation at high temperatures; then by the last two (secant)
            step_k = off_k / 2.0
            if before is not None and before[1] != off_k:
                step_k = -off_k * (outside - before[0]) / (off_k - before[1])
            before = outside, off_k
            outside += step_k
        return State(cell_k=alone + self.answer * inside, inside_k=inside, outside_k=outside)
