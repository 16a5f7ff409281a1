"""What no plan can be made of, told from the pack's values alone, before anything is placed.

Each refusal is raised by the same function that the plan itself calls, so both tell it in the same
words. No arrays are loaded here: a pack file is checked in a moment.
"""

from __future__ import annotations

from collections.abc import Callable

from layouts.brackets.frame_holes import check_frame_holes
from layouts.cells.deck import check_deck
from layouts.electrical.charging import charging
from layouts.electrical.leads import main_leads
from layouts.errors import PlanError
from layouts.heat.temperature_limits import check_ambient, heat_limits
from layouts.pack import EnclosureStyle, Pack
from layouts.parts.glands import gland_for
from layouts.parts.lid_screw import lid_screw_length_mm
from layouts.parts.tie_screw import check_recesses
from layouts.ratings.fuse import choose_fuse
from layouts.ratings.taps import rate_balance_leads
from layouts.ratings.wire import BASE_C

__all__ = ["check_rows", "early_refusals"]


def early_refusals(pack: Pack) -> tuple[PlanError, ...]:
    """All of a pack, one a field; none does not mean that a plan will be found."""
    found: dict[str, PlanError] = {}
    for check in _CHECKS:
        try:
            check(pack)
        except PlanError as error:
            found.setdefault(error.field, error)
    return tuple(found.values())


def check_rows(pack: Pack) -> None:
    """Raises PlanError for free spacing, which leaves no rows for strips."""
    if pack.free_spacing:
        raise PlanError(
            field="lattice",
            why="leaves cells without rows, so no straight strips can be laid and no holder made",
            remedy="write honeycomb or grid; cellstead place draws free cell positions",
        )


def _deck(pack: Pack) -> None:
    if pack.enclosure.style is EnclosureStyle.NONE and pack.space is not None:
        check_deck(pack, pack.space)


def _enclosure(pack: Pack) -> None:
    if pack.enclosure.style is not EnclosureStyle.NONE:
        lid_screw_length_mm(pack.enclosure)


def _glands(pack: Pack) -> None:
    if pack.enclosure.style is not EnclosureStyle.NONE:
        gland_for(pack.leads.outside_mm)


def _frame(pack: Pack) -> None:
    if pack.enclosure.style is not EnclosureStyle.NONE:
        check_frame_holes(pack.mount)


def _main_leads(pack: Pack) -> None:
    rating_a = main_leads(pack).continuous_rating_a
    if pack.fuse is None:  # one is then proposed: the smallest must suit the wire
        choose_fuse(continuous_a=rating_a, wire_a=rating_a)


def _balance_leads(pack: Pack) -> None:
    ambient_c = BASE_C if pack.load is None else pack.load.ambient_c
    rate_balance_leads(
        group_short_a=1.0,
        pack_short_a=1.0,
        highest_v=1.0,
        awg=pack.taps.awg,
        ambient_c=ambient_c,
    )  # its ampacity alone can refuse


def _charge_leads(pack: Pack) -> None:
    charging(pack, ohm=main_leads(pack).ohm)  # which only a motor's returned current meets


def _ambient(pack: Pack) -> None:
    if pack.load is not None:
        check_ambient(heat_limits(pack), ambient_c=pack.load.ambient_c)


_CHECKS: tuple[Callable[[Pack], None], ...] = (
    check_rows,
    _deck,
    check_recesses,
    _enclosure,
    _glands,
    _frame,
    _main_leads,
    _balance_leads,
    _charge_leads,
    _ambient,
)
