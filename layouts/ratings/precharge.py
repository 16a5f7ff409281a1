"""Charging a controller's capacitance through a resistor before the switch is closed."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from layouts.ratings.given import above_zero, at_most

__all__ = ["Precharge", "inrush_a", "precharge", "precharge_caution", "resistor_for"]

READY_S = 1.0  # to 99 % within: a usual waiting time; common practice, no source
WORTH_J = 0.5  # from here on a spark wears contacts; judgement, no source
E6 = (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)  # preferred numbers of the E6 series, IEC 60063, from memory


@dataclass(frozen=True, kw_only=True, slots=True)
class Precharge:
    """A resistor that charges a capacitance from nothing to the pack's volts.

    ``joules``: taken up by the resistor each time, as much as the capacitance stores, whatever its
    ohms. ``peak_a``, ``peak_w`` at the first moment; ``peak_w`` is the continuous heat
    where the load draws through it (a switch left on, a short): the resistor must be taken out.
    """

    ohm: float
    joules: float
    seconds_95: float
    seconds_99: float
    peak_a: float
    peak_w: float


def resistor_for(*, capacitance_f: float, seconds_99: float = READY_S) -> float:
    """The largest E6 resistor that reaches 99 % in time, R = t/(C ln 100) rounded down [ohm]."""
    exact = above_zero(seconds_99, "seconds_99") / (
        above_zero(capacitance_f, "capacitance_f") * log(100.0)
    )
    decades = range(-3, 7)
    fitting = [d for power in decades for d in (round(step * 10.0**power, 9) for step in E6)]
    fitting = [d for d in fitting if at_most(d, exact)]
    if not fitting:
        raise ValueError(f"{exact:.2g} ohm is below every standard resistor: allow more seconds")
    return fitting[-1]


def precharge(*, capacitance_f: float, full_v: float, ohm: float | None = None) -> Precharge:
    """What a precharge resistor does; ``ohm``: as given, else for 99 % within a second.

    V(t) = V (1 - exp(-t/(R C))), so t = R C ln 20 and R C ln 100; the resistor takes up
    C V^2/2 (any textbook of circuit theory).
    """
    above_zero(full_v, "full_v")
    used = resistor_for(capacitance_f=capacitance_f) if ohm is None else above_zero(ohm, "ohm")
    constant_s = used * above_zero(capacitance_f, "capacitance_f")
    return Precharge(
        ohm=used,
        joules=capacitance_f * full_v**2 / 2,
        seconds_95=constant_s * log(20.0),
        seconds_99=constant_s * log(100.0),
        peak_a=full_v / used,
        peak_w=full_v**2 / used,
    )


def inrush_a(*, full_v: float, ohm: float) -> float:
    """First current into an empty capacitance with no resistor, V/R of pack and wire [A].

    The wires' inductance, left out, lowers it.
    """
    return above_zero(full_v, "full_v") / above_zero(ohm, "ohm")


def precharge_caution(charging: Precharge, *, without_a: float) -> str | None:
    """What to say where the controller's capacitance is worth a resistor; else None."""
    if charging.joules < WORTH_J:
        return None
    return (
        f"the controller's capacitance stores {charging.joules:.1f} J: connected without "
        f"precharge it draws up to {without_a:.0f} A and burns the contacts; precharge through "
        f"{charging.ohm:g} ohm for {charging.seconds_99:.1g} s, a resistor rated for pulses of "
        f"{charging.joules:.1f} J and {charging.peak_w:.0f} W"
    )
