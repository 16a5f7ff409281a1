"""What a load in amps or watts draws at the lowest voltage, and what a motor regenerates."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from layouts.checks import Check
from layouts.ratings.given import PRACTICE, above_zero, any_number, at_most, not_negative

__all__ = [
    "AskedCurrents",
    "OperatingPoint",
    "Regeneration",
    "asked_currents",
    "largest_w",
    "load_check",
    "operating_point",
    "regeneration",
    "regeneration_cells_check",
    "regeneration_volts_check",
]

OHMS_LAW = "Ohm's law"


@dataclass(frozen=True, kw_only=True, slots=True)
class OperatingPoint:
    """Where a source behind its resistance and a load of constant watts meet.

    ``lost_w``: heat in the resistance. Currents and losses of watts given back are negative
    and positive.
    """

    current_a: float
    volts: float
    lost_w: float


@dataclass(frozen=True, kw_only=True, slots=True)
class AskedCurrents:
    """Currents that a load draws at the pack's lowest voltage; None: not required.

    ``demand_w``, ``largest_w``: the highest power required and the most that the pack can deliver
    there; ``operates``: False where the watts have no operating point, and the currents are None.
    """

    continuous_a: float | None
    peak_a: float | None
    demand_w: float | None
    largest_w: float
    operates: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Regeneration:
    """A motor that regenerates.

    ``full_pack_v``: volts that it must raise the full pack to; ``stop_v``: resting volts of a
    pack that still takes the current without passing its full volts; ``open_v_s``: volts a
    second by which the controller's capacitance rises once the board has opened (None: its
    capacitance isn't known); ``seconds_to_limit``: till the controller's own limit then.
    """

    current_a: float
    full_pack_v: float
    stop_v: float
    open_v_s: float | None
    seconds_to_limit: float | None


def largest_w(*, open_v: float, ohm: float) -> float:
    """Most watts that a source gives behind its resistance, V0^2/(4 R) (maximum power theorem)."""
    return above_zero(open_v, "open_v") ** 2 / (4 * above_zero(ohm, "ohm"))


def operating_point(*, watts: float, open_v: float, ohm: float) -> OperatingPoint | None:
    """Solves P = (V0 - R I) I for the smaller current; None where the watts are out of reach.

    Written as 2 P/(V0 + sqrt(V0^2 - 4 R P)), which keeps its digits for small R. Watts below
    zero are given back. The larger root is no operating point: volts would collapse to it.
    """
    above_zero(open_v, "open_v")
    above_zero(ohm, "ohm")
    under = open_v**2 - 4 * ohm * any_number(watts, "watts")
    if under < 0:
        return None
    current = 2 * watts / (open_v + sqrt(under))
    return OperatingPoint(current_a=current, volts=open_v - ohm * current, lost_w=ohm * current**2)


def asked_currents(
    *,
    open_v: float,
    ohm: float,
    continuous_a: float | None = None,
    peak_a: float | None = None,
    continuous_w: float | None = None,
    peak_w: float | None = None,
) -> AskedCurrents:
    """Currents drawn, the larger of amps and watts where both are given.

    ``open_v``: lowest resting volts of the pack; ``ohm``: all of cells, strips and wire.
    """
    most = largest_w(open_v=open_v, ohm=ohm)
    watts = [above_zero(w, "watts") for w in (continuous_w, peak_w) if w is not None]
    demand_w = max(watts) if watts else None
    currents: list[float | None] = []
    operates = True
    for amps, power in ((continuous_a, continuous_w), (peak_a, peak_w)):
        found = [] if amps is None else [above_zero(amps, "amps")]
        if power is not None:
            point = operating_point(watts=power, open_v=open_v, ohm=ohm)
            if point is None:
                operates = False
                found = []
            else:
                found.append(point.current_a)
        currents.append(max(found) if found else None)
    continuous, peak = currents
    return AskedCurrents(
        continuous_a=continuous,
        peak_a=peak,
        demand_w=demand_w,
        largest_w=most,
        operates=operates,
    )


def load_check(asked: AskedCurrents) -> Check | None:
    """The required power has an operating point at the lowest voltage; None without one."""
    if asked.demand_w is None:
        return None
    return Check(
        id="load",
        about="the empty pack can deliver the required power through its own resistance (at "
        f"most {asked.largest_w:.0f} W)",
        holds=asked.operates,
        value=asked.demand_w,
        limit=asked.largest_w,
        unit="W",
        source="maximum power theorem, V0^2/(4 R)",
        remedy="more cells in parallel or in series, cells of lower resistance, thicker "
        "wire, or less power",
        at_least=False,
    )


def regeneration(
    *,
    current_a: float,
    full_v: float,
    ohm: float,
    highest_v: float | None = None,
    capacitance_f: float | None = None,
) -> Regeneration:
    """Voltage to which a motor raises a full pack, and what follows once the board opens.

    ``full_v`` of the pack; ``highest_v``: the controller's limit. With no pack to take it the
    current charges the controller's capacitance, dV/dt = I/C."""
    above_zero(current_a, "current_a")
    above_zero(full_v, "full_v")
    rise = current_a * above_zero(ohm, "ohm")
    rate = None if capacitance_f is None else current_a / above_zero(capacitance_f, "capacitance_f")
    seconds = None
    if rate is not None and highest_v is not None:
        seconds = max(0.0, above_zero(highest_v, "highest_v") - full_v) / rate
    return Regeneration(
        current_a=current_a,
        full_pack_v=full_v + rise,
        stop_v=full_v - rise,
        open_v_s=rate,
        seconds_to_limit=seconds,
    )


def regeneration_volts_check(back: Regeneration, *, highest_v: float) -> Check:
    """The controller withstands the voltage to which its regeneration raises a full pack."""
    return Check(
        id="regeneration_v",
        about=(
            "voltage at the controller while it regenerates into a full pack, against the "
            "controller's limit"
        ),
        holds=at_most(back.full_pack_v, above_zero(highest_v, "highest_v")),
        value=back.full_pack_v,
        limit=highest_v,
        unit="V",
        source=OHMS_LAW,
        remedy=f"disable regeneration from {back.stop_v:.1f} V up, or reduce its current",
        at_least=False,
    )


def regeneration_cells_check(
    *, current_a: float, cell_charge_a: float, parallel: int, board_charge_a: float | None = None
) -> Check:
    """Regenerated current against the charge rating of cells and board."""
    cells = above_zero(cell_charge_a, "cell_charge_a") * parallel
    limit = cells if board_charge_a is None else min(cells, not_negative(board_charge_a, "board"))
    return Check(
        id="regeneration_a",
        about="regenerated current at most the charge rating of cells and board",
        holds=at_most(above_zero(current_a, "current_a"), limit),
        value=current_a,
        limit=limit,
        unit="A",
        source=f"data sheets; short pulses may be allowed more ({PRACTICE})",
        remedy="limit the regenerative braking current in the controller",
        at_least=False,
    )
