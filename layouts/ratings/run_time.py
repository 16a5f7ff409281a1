"""How long a pack lasts under a load over time, and how far that is.

The pack is a charge behind a constant resistance. Its resting volts fall in two straight lines,
full to nominal over the first half of the charge, nominal to empty over the second: an estimate
(common practice, no source); a data sheet's curve is flatter for iron phosphate and depends on
current and temperature. Within a step the current is constant and the watts meet the mean of the
resting volts, which on a straight line is exact in energy: what leaves the cells is what is
delivered and lost, to rounding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layouts.errors import PlanError
from layouts.ratings.cycle import FIELD as CYCLE_FIELD
from layouts.ratings.cycle import DutyCycle
from layouts.ratings.given import above_zero, at_most
from layouts.ratings.load import OperatingPoint, operating_point
from layouts.ratings.profile import FIELD, Profile
from layouts.ratings.windows import StringVolts

__all__ = ["Curve", "RunTime", "cycle_time", "run_time"]

STEPS_OF_CHARGE = 400  # a step takes at most this part of the charge; time then holds to 1e-5
MOST_STEPS = 400_000  # some seconds; a profile of short rows and few watts needs coarser rows
HOUR_S = 3600.0
SAME = 1e-12  # of the charge: the corners of the curve are much further apart


@dataclass(frozen=True, kw_only=True, slots=True)
class Curve:
    """Resting volts of a pack over its charge: two straight lines that meet at nominal, half full.

    ``volts``: empty, nominal and full of the pack; ``capacity_ah`` of the pack.
    """

    volts: StringVolts
    capacity_ah: float

    def at(self, left_ah: float) -> float:
        """Resting volts with so much charge left [V]."""
        half = self.capacity_ah / 2
        if left_ah <= half:
            return self.volts.empty_v + (self.volts.nominal_v - self.volts.empty_v) * left_ah / half
        rest = left_ah - half
        return self.volts.nominal_v + (self.volts.full_v - self.volts.nominal_v) * rest / half

    def energy_wh(self, left_ah: float) -> float:
        """Energy that the cells give at no current till empty: the area below the curve [Wh]."""
        half = self.capacity_ah / 2
        low = min(left_ah, half)
        high = left_ah - low
        return (
            low * (self.volts.empty_v + self.at(low)) / 2
            + high * (self.volts.nominal_v + self.at(low + high)) / 2
        )

    def line(self, left_ah: float, *, taking: bool) -> tuple[float, float]:
        """(end_ah, volts per Ah) of the line that the charge moves on, and where it ends."""
        half = self.capacity_ah / 2
        lower = left_ah <= half * (1 + SAME) if taking else left_ah < half * (1 - SAME)
        if lower:
            slope = (self.volts.nominal_v - self.volts.empty_v) / half
            return (0.0 if taking else half), slope
        slope = (self.volts.full_v - self.volts.nominal_v) / half
        return (half if taking else self.capacity_ah), slope


@dataclass(frozen=True, kw_only=True, slots=True)
class RunTime:
    """How a run ended.

    ``ended_by``: "empty", "cut-off" (volts under load), "no operating point" (watts out of
    reach) or "end of profile". ``passes``: how often the profile was run, the last one begun.
    ``distance_km``: None where the profile has no speed. ``taken_wh``: by the curve, from the
    charge at the start and the end; ``given_wh`` to the load, what came back taken off;
    ``lost_wh`` in the resistance; ``refused_wh``: given back to a full pack, which takes none.
    ``lowest_v`` under load; None where no current flowed.
    """

    seconds: float
    distance_km: float | None
    passes: int
    ended_by: str
    charge_ah: float
    taken_wh: float
    given_wh: float
    lost_wh: float
    refused_wh: float
    lowest_v: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class _Draw:
    """What is held through a row: watts, or amps where those are None. Below zero: given back."""

    watts: float | None
    amps: float = 0.0

    @property
    def size(self) -> float:
        """Watts or amps: 0 where nothing flows, below zero where it is given back."""
        return self.amps if self.watts is None else self.watts

    def at(self, *, open_v: float, ohm: float) -> OperatingPoint | None:
        """Where it meets the source; None out of reach."""
        if self.watts is not None:
            return operating_point(watts=self.watts, open_v=open_v, ohm=ohm)
        volts = open_v - ohm * self.amps
        if volts <= 0:
            return None
        return OperatingPoint(current_a=self.amps, volts=volts, lost_w=ohm * self.amps**2)


@dataclass(slots=True)
class _State:
    """What changes while a run is worked out; never leaves this module."""

    left_ah: float
    seconds: float = 0.0
    metres: float = 0.0
    given_wh: float = 0.0
    lost_wh: float = 0.0
    refused_wh: float = 0.0
    lowest_v: float | None = None
    steps: int = 0
    field: str = FIELD  # of the pack file, in messages
    ended_by: str = ""  # empty while it runs


def run_time(
    profile: Profile,
    *,
    volts: StringVolts,
    capacity_ah: float,
    ohm: float,
    cutoff_v: float | None = None,
    repeat: bool = True,
) -> RunTime:
    """Runs a profile, again and again where ``repeat``, from a full pack till it ends.

    ``volts``, ``capacity_ah``, ``ohm`` of the pack; ``cutoff_v``: terminal volts under load from
    which controller or board stop for good (None: the pack runs till its charge is out).
    Raises PlanError where a pass takes no charge, so that there is no end, or where the run
    would take more steps than are allowed.
    """
    rows = [(seconds, _Draw(watts=watts), speed) for seconds, watts, speed in profile.steps]
    found, passes = _run(
        rows, volts, capacity_ah, ohm=ohm, stop=cutoff_v, repeat=repeat, field=FIELD
    )
    curve = Curve(volts=volts, capacity_ah=capacity_ah)
    km = None if profile.speed_km_h is None else found.metres / 1000.0
    return _ended(found, curve, passes, distance_km=km)


def cycle_time(
    cycle: DutyCycle,
    *,
    volts: StringVolts,
    capacity_ah: float,
    ohm: float,
    cutoff_v: float | None = None,
) -> RunTime:
    """Runs a duty cycle in amps, again and again, as ``run_time`` runs watts."""
    rows = [(seconds, _Draw(watts=None, amps=amps), 0.0) for amps, seconds in cycle.rows]
    found, passes = _run(
        rows, volts, capacity_ah, ohm=ohm, stop=cutoff_v, repeat=True, field=CYCLE_FIELD
    )
    curve = Curve(volts=volts, capacity_ah=capacity_ah)
    return _ended(found, curve, passes, distance_km=None)


def _run(
    rows: Sequence[tuple[float, _Draw, float]],
    volts: StringVolts,
    capacity_ah: float,
    *,
    ohm: float,
    stop: float | None,
    repeat: bool,
    field: str,
) -> tuple[_State, int]:
    """How it ends, and how often the rows were begun."""
    curve = Curve(volts=volts, capacity_ah=above_zero(capacity_ah, "capacity_ah"))
    above_zero(ohm, "ohm")
    if stop is not None and above_zero(stop, "cutoff_v") >= volts.full_v:
        raise PlanError(
            field="load.discharge_cutoff_v",
            value=f"{stop:g}",
            why=f"is not below the full pack's {volts.full_v:g} V",
            remedy="give the voltage at which the controller stops",
        )
    state = _State(left_ah=curve.capacity_ah, field=field)
    passes = 0
    while not state.ended_by:
        before = state.left_ah
        passes += 1
        for seconds, draw, speed in rows:
            _row(state, curve, seconds=seconds, draw=draw, speed=speed, ohm=ohm, stop=stop)
            if state.ended_by:
                break
        if not state.ended_by and not repeat:
            state.ended_by = "end of profile"
        elif not state.ended_by and before - state.left_ah <= SAME * curve.capacity_ah:
            raise PlanError(
                field=field,
                why="takes no more from the pack than it gives back: the run never ends",
                remedy="give watts that the machine takes from the pack",
            )
    return state, passes


def _ended(state: _State, curve: Curve, passes: int, *, distance_km: float | None) -> RunTime:
    return RunTime(
        seconds=state.seconds,
        distance_km=distance_km,
        passes=passes,
        ended_by=state.ended_by,
        charge_ah=curve.capacity_ah - state.left_ah,
        taken_wh=curve.energy_wh(curve.capacity_ah) - curve.energy_wh(state.left_ah),
        given_wh=state.given_wh,
        lost_wh=state.lost_wh,
        refused_wh=state.refused_wh,
        lowest_v=state.lowest_v,
    )


def _row(
    state: _State,
    curve: Curve,
    *,
    seconds: float,
    draw: _Draw,
    speed: float,
    ohm: float,
    stop: float | None,
) -> None:
    """One row for its seconds, or till the run ends."""
    left_s = seconds
    while left_s > 0 and not state.ended_by:
        state.steps += 1
        if state.steps > MOST_STEPS:
            raise PlanError(
                field=state.field,
                why=f"takes more than {MOST_STEPS} steps until the pack is empty",
                remedy="give fewer and longer rows",
            )
        if draw.size == 0.0 or (draw.size < 0.0 and state.left_ah >= curve.capacity_ah):
            state.refused_wh += -draw.size * left_s / HOUR_S
            gone_s = left_s
        else:
            gone_s = _step(state, curve, left_s=left_s, draw=draw, ohm=ohm, stop=stop)
        state.seconds += gone_s
        state.metres += speed / 3.6 * gone_s
        left_s -= gone_s


def _step(
    state: _State, curve: Curve, *, left_s: float, draw: _Draw, ohm: float, stop: float | None
) -> float:
    """One step of constant current on one line of the curve; gives the seconds that it took."""
    start_v = curve.at(state.left_ah)
    first = draw.at(open_v=start_v, ohm=ohm)
    if first is None:
        state.ended_by = "no operating point"
        return 0.0
    if stop is not None and first.volts < stop and draw.size > 0:
        state.ended_by = "cut-off"
        return 0.0
    end_ah, slope = curve.line(state.left_ah, taking=draw.size > 0)
    hours = min(left_s / HOUR_S, curve.capacity_ah / STEPS_OF_CHARGE / abs(first.current_a))
    # over a step the mean of the resting volts is V0 - slope I h/2: a resistance to the solver
    point = draw.at(open_v=start_v, ohm=ohm + slope * hours / 2)
    if point is None:
        state.ended_by = "no operating point"
        return 0.0
    current = point.current_a
    left_ah = state.left_ah - current * hours
    if (left_ah - end_ah) * current <= 0:  # reaches the line's end within the step
        mean_v = (start_v + curve.at(end_ah)) / 2
        met = draw.at(open_v=mean_v, ohm=ohm)
        if met is None:
            state.ended_by = "no operating point"
            return 0.0
        current = met.current_a
        hours = (state.left_ah - end_ah) / current
        left_ah = end_ah
    end_v = curve.at(left_ah) - ohm * current
    if stop is not None and draw.size > 0 and not at_most(stop, end_v):
        # terminal volts fall in a straight line within the step: stop where they meet the limit
        begin_v = start_v - ohm * current
        part = max(0.0, (begin_v - stop) / (begin_v - end_v))
        hours *= part
        cut = draw.at(open_v=start_v, ohm=ohm + slope * hours / 2)
        current = current if cut is None else cut.current_a
        left_ah = state.left_ah - current * hours
        end_v = stop
        state.ended_by = "cut-off"
    state.left_ah = left_ah
    if draw.watts is None:
        mean_v = (start_v + curve.at(left_ah)) / 2 - ohm * current
        state.given_wh += mean_v * current * hours
    else:
        state.given_wh += draw.watts * hours
    state.lost_wh += current**2 * ohm * hours
    low = min(end_v, first.volts)
    state.lowest_v = low if state.lowest_v is None else min(state.lowest_v, low)
    if left_ah <= 0.0:
        state.ended_by = "empty"
    return left_s if hours == left_s / HOUR_S else min(hours * HOUR_S, left_s)
