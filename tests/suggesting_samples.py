"""Invented cells and settings for tests of suggestions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from layouts import defaults
from layouts.formats import cell_formats, chemistries
from layouts.pack import Cell, EnclosureStyle, Lattice
from layouts.spaces.space import Space, box_space
from layouts.suggesting.setting import Asked, Axis, Combination, Offer, Setting, base_for

Job = TypeVar("Job")
Answer = TypeVar("Answer")


def offer(format: str = "18650", chemistry: str = "nmc", *, price: float | None = None) -> Offer:
    """A plain cell of a built-in size."""
    size, volts = cell_formats()[format], chemistries()[chemistry]
    charge = defaults.capacity_ah(
        chemistry, diameter_mm=size.diameter_mm, length_mm=size.longest_mm
    )
    return Offer(
        name=f"{format} {chemistry}",
        size=size,
        given=(("format", format), ("chemistry", chemistry)),
        price=price,
        cell=Cell(
            format=format,
            chemistry=chemistry,
            diameter_mm=size.diameter_mm,
            length_mm=size.longest_mm,
            capacity_ah=charge,
            continuous_a=charge,
            internal_resistance_mohm=defaults.internal_resistance_mohm(charge),
            mass_g=size.mass_g,
            empty_v=volts.empty_v,
            nominal_v=volts.nominal_v,
            full_v=volts.full_v,
            max_c=60.0,
        ),
    )


def setting(
    space: Space | tuple[float, float, float],
    *offers: Offer,
    axes: tuple[Axis, ...] = (Axis.Z, Axis.X, Axis.Y),
    forms: tuple[EnclosureStyle, ...] = (EnclosureStyle.TUB,),
    **asked: float | tuple[float, float],
) -> Setting:
    """A sweep's setting; a tuple is a box. Default: 7.2 V, in a tub."""
    wanted = Asked(**(asked or {"volts_v": 7.2}))  # type: ignore[arg-type]
    return Setting(
        space=space if isinstance(space, Space) else box_space(space),
        asked=wanted,
        offers=offers or (offer(),),
        base=base_for(wanted),
        axes=axes,
        forms=forms,
    )


def one(series: int, parallel: int, lattice: Lattice = Lattice.HONEYCOMB) -> Combination:
    """A candidate of the first offer."""
    return Combination(offer=0, series=series, parallel=parallel, lattice=lattice)


def here(
    work: Callable[[Setting, Job], Answer], setting: Setting, jobs: Sequence[Job], stage: str
) -> list[Answer]:
    """A runner in this very process."""
    return [work(setting, job) for job in jobs]
