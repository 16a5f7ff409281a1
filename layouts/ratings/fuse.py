"""Fuses: which rating, and whether a given fuse protects its wire.

A fuse protects its wire and clears a short circuit; it does not protect cells from overload."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from layouts.checks import Check
from layouts.errors import PlanError
from layouts.ratings.given import PRACTICE, above_zero, at_most

__all__ = [
    "BEARS_RATIO",
    "OPENS_MULTIPLE",
    "OPENS_S",
    "Fuse",
    "FuseChoice",
    "FusePlace",
    "choose_fuse",
    "fuse_breaking_check",
    "fuse_continuous_a",
    "fuse_load_check",
    "fuse_needs",
    "fuse_opens_at_a",
    "fuse_opens_check",
    "fuse_peak_check",
    "fuse_volts_check",
    "fuse_wire_check",
]

# All common practice, no source; the fuse's own data sheet takes precedence
BEARS_RATIO = 0.75  # of its rating a fuse carries continuously, warm and enclosed
PEAK_RATIO = 1.25  # of its rating it carries for the seconds of a peak
OPENS_MULTIPLE = 3.5  # times its rating opens a usual vehicle fuse within 5 s; slow ones need more
OPENS_S = 5.0
# Usual ratings of vehicle and small fuses, A; from memory
RATINGS_A = (
    *(0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0),
    *(70.0, 80.0, 100.0, 125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0, 500.0),
)


class FusePlace(Enum):
    """Position of a fuse: prefix of the ids of its checks."""

    MAIN = "fuse"
    BALANCE_LEAD = "tap_fuse"
    CHARGE = "charge_fuse"

    @property
    def words(self) -> str:
        """The fuse in words."""
        return {"fuse": "main fuse", "tap_fuse": "balance lead fuse"}.get(
            self.value, "charge port fuse"
        )

    @property
    def wire(self) -> str:
        """The wire that it protects, in words."""
        return {"fuse": "main leads", "tap_fuse": "balance leads"}.get(self.value, "charge leads")


@dataclass(frozen=True, kw_only=True, slots=True)
class Fuse:
    """A fuse as its data sheet specifies it; None where not given.

    ``opens_multiple``: times the rating from which it opens within 5 s; ``loss_w``: its heat at the
    rating.
    """

    rating_a: float
    dc_v: float | None = None
    breaking_a: float | None = None
    opens_multiple: float | None = None
    loss_w: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class FuseChoice:
    """The rating taken and why.

    ``continuous_rating_a``: of the fuse; ``fits``: it carries the load and protects the wire."""

    fuse: Fuse
    continuous_rating_a: float
    fits: bool
    reason: str


def fuse_continuous_a(rating_a: float) -> float:
    """Continuous current of a fuse: three quarters of its rating [A]."""
    return BEARS_RATIO * above_zero(rating_a, "rating_a")


def choose_fuse(
    *,
    continuous_a: float,
    wire_a: float,
    peak_a: float | None = None,
    pulses: tuple[float, str] | None = None,
    protects: Callable[[Fuse], bool] = lambda fuse: True,
    place: FusePlace = FusePlace.MAIN,
) -> FuseChoice:
    """The smallest standard rating that carries the current, else the largest that protects.

    ``continuous_a``: the load demand, or the rating of the rest of the pack without a load.
    ``pulses``: least rating that carries those of a duty cycle, and why. ``protects``: whether a
    fuse passes all other checks of one that is given. Protection comes first: a choice that doesn't
    fit still passes them where any rating does, and lies below the wire's ampacity. Raises
    PlanError where the smallest fuse is above the wire's ampacity."""
    needed = above_zero(continuous_a, "continuous_a") / BEARS_RATIO
    why = f"{continuous_a:g} A continuous at {BEARS_RATIO:.0%} of the rating"
    if peak_a is not None and above_zero(peak_a, "peak_a") / PEAK_RATIO > needed:
        needed = peak_a / PEAK_RATIO
        why = f"{peak_a:g} A peak at {PEAK_RATIO:.0%} of the rating"
    if pulses is not None and pulses[0] > needed:
        needed, why = pulses
    below = [rating for rating in RATINGS_A if at_most(rating, above_zero(wire_a, "wire_a"))]
    if not below:
        raise PlanError(
            field="leads.wire_mm2",
            why=f"the {place.wire} are rated for {wire_a:.2g} A, less than the smallest fuse of "
            f"{RATINGS_A[0]:g} A",
            remedy="use thicker ones",
        )
    protecting = [rating for rating in below if protects(Fuse(rating_a=rating))]
    fitting = [rating for rating in protecting if at_most(needed, rating)]
    if fitting:
        rating = fitting[0]
        reason = (
            f"{rating:g} A: the smallest standard rating from {needed:.1f} A up ({why}), and not "
            f"above the {wire_a:.1f} A of the {place.wire}"
        )
    elif protecting:
        rating = protecting[-1]
        reason = (
            f"{rating:g} A: the largest standard rating that protects the {place.wire} of "
            f"{wire_a:.1f} A and clears the minimum fault current; {needed:.1f} A would be "
            f"required ({why})"
        )
    else:
        rating = below[0]
        reason = (
            f"{rating:g} A: the smallest standard rating; none protects the {place.wire} of "
            f"{wire_a:.1f} A and clears the minimum fault current"
        )
    return FuseChoice(
        fuse=Fuse(rating_a=rating),
        continuous_rating_a=fuse_continuous_a(rating),
        fits=bool(fitting),
        reason=reason,
    )


def fuse_needs(*, highest_v: float, short_circuit_a: float) -> str:
    """Required ratings of a fuse besides its current, in words."""
    return (
        f"DC rated for at least {above_zero(highest_v, 'highest_v'):.1f} V, breaking capacity at "
        f"least {above_zero(short_circuit_a, 'short_circuit_a'):.0f} A at that voltage"
    )


def fuse_opens_at_a(fuse: Fuse) -> float:
    """Current from which a fuse reliably opens within 5 s [A].

    By its own multiple where given, else 3.5 times the rating: what bolted vehicle fuses do
    (common practice, no source). Slow fuses for cables may need five times and more.
    """
    multiple = OPENS_MULTIPLE if fuse.opens_multiple is None else fuse.opens_multiple
    if above_zero(multiple, "opens_multiple") <= 1.0:
        raise ValueError(f"opens_multiple must be above 1, got {multiple!r}")
    return multiple * above_zero(fuse.rating_a, "rating_a")


def fuse_load_check(fuse: Fuse, *, demand_a: float, place: FusePlace = FusePlace.MAIN) -> Check:
    """The fuse carries the load continuously."""
    bears = fuse_continuous_a(fuse.rating_a)
    return Check(
        id=f"{place.value}_load_a",
        about=f"{place.words}: continuous load at most {BEARS_RATIO:.0%} of the rating",
        holds=at_most(demand_a, bears),
        value=demand_a,
        limit=bears,
        unit="A",
        source=PRACTICE,
        remedy=f"a larger fuse, and {place.wire} rated for it; or less current",
        at_least=False,
    )


def fuse_peak_check(fuse: Fuse, *, peak_a: float, place: FusePlace = FusePlace.MAIN) -> Check:
    """The fuse does not open during the peak load."""
    limit = PEAK_RATIO * above_zero(fuse.rating_a, "rating_a")
    return Check(
        id=f"{place.value}_peak_a",
        about=(
            f"{place.words} does not open at the peak load (at most {PEAK_RATIO:.0%} of the rating)"
        ),
        holds=at_most(peak_a, limit),
        value=peak_a,
        limit=limit,
        unit="A",
        source=PRACTICE,
        remedy=(f"a larger fuse, and {place.wire} rated for it; or a slower fuse; or a lower peak"),
        at_least=False,
    )


def fuse_wire_check(fuse: Fuse, *, wire_a: float, place: FusePlace = FusePlace.MAIN) -> Check:
    """The fuse's rating is not above the wire's ampacity: it opens before the wire overheats."""
    return Check(
        id=f"{place.value}_wire_a",
        about=f"{place.words} rating at most the ampacity of the {place.wire}",
        holds=at_most(fuse.rating_a, wire_a),
        value=fuse.rating_a,
        limit=wire_a,
        unit="A",
        source=PRACTICE,
        remedy=f"a smaller fuse or thicker {place.wire}",
        at_least=False,
    )


def fuse_volts_check(
    fuse: Fuse, *, highest_v: float, place: FusePlace = FusePlace.MAIN
) -> Check | None:
    """The fuse's DC voltage rating covers the highest voltage; None where not given.

    ``highest_v``: of the full pack, or of what a braking motor raises it to."""
    if fuse.dc_v is None:
        return None
    return Check(
        id=f"{place.value}_dc_v",
        about=f"{place.words}: DC voltage rating covers the full pack and a braking motor",
        holds=at_most(highest_v, fuse.dc_v),
        value=fuse.dc_v,
        limit=highest_v,
        unit="V",
        source="the fuse's voltage rating; above it the arc may not extinguish",
        remedy="a fuse with a higher DC voltage rating",
    )


def fuse_breaking_check(
    fuse: Fuse, *, short_circuit_a: float, assumed: bool, place: FusePlace = FusePlace.MAIN
) -> Check | None:
    """Breaking capacity against the prospective short-circuit current; None if not given.

    ``assumed``: the cells' 1 kHz resistance was not given.
    """
    if fuse.breaking_a is None:
        return None
    told = " (cells' 1 kHz resistance assumed)" if assumed else ""
    return Check(
        id=f"{place.value}_breaking_a",
        about=(
            f"{place.words}: breaking capacity covers the prospective short-circuit current{told}"
        ),
        holds=at_most(short_circuit_a, fuse.breaking_a),
        value=fuse.breaking_a,
        limit=short_circuit_a,
        unit="A",
        source="the fuse's breaking capacity; Ohm's law",
        remedy="a fuse with a larger breaking capacity at that DC voltage",
    )


def fuse_opens_check(
    fuse: Fuse, *, least_fault_a: float, place: FusePlace = FusePlace.MAIN
) -> Check:
    """The minimum fault (empty cold pack, far end of the wire) opens it within 5 s."""
    opens = fuse_opens_at_a(fuse)
    return Check(
        id=f"{place.value}_least_fault_a",
        about=f"{place.words} clears the minimum fault current within {OPENS_S:g} s",
        holds=at_most(opens, least_fault_a),
        value=least_fault_a,
        limit=opens,
        unit="A",
        source="the fuse's data sheet" if fuse.opens_multiple is not None else PRACTICE,
        remedy="a smaller or faster fuse, or a thicker or shorter wire",
    )
