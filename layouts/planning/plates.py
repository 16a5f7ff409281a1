"""Plates for a pack: laid round the tie posts, their metal chosen, a balance lead on each tail."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.currents.strips import demand_or_rated_a
from layouts.electrical.plate_choice import PlateOffer, choose_plates
from layouts.errors import PlanError
from layouts.holders.fastening import block_outline, tie_posts
from layouts.holders.posts import channel_clear_mm
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face, Pack
from layouts.plates.bars import SOLDER_MM, end_bars
from layouts.plates.bridge import bridged_joint
from layouts.plates.bridge_sheets import bridge_bar, in_two_sheets
from layouts.plates.laying import lay_plates
from layouts.plates.nesting import check_stock_width
from layouts.plates.outline import in_one_piece
from layouts.plates.sizes import LEAST_WIDE_MM
from layouts.strips.joining import BalanceLead, Interconnect
from layouts.strips.joints import face_of_ends
from layouts.strips.plate import BusPlate, PlateBar

__all__ = ["joined_by_plates"]

CHORD_MM = 0.05  # chords round a post lie so far inside its circle at most


def joined_by_plates(pack: Pack, cell_layout: CellLayout) -> Interconnect:
    """The interconnect of a pack of plates."""
    minus, plus = face_of_ends(int(cell_layout.group.max()))
    bare = Interconnect(
        strips=(),
        minus_face=minus,
        plus_face=plus,
        stack_mm=np.zeros((2, len(cell_layout.xy_mm))),
    )
    load_a = demand_or_rated_a(pack)
    bars = tuple(end_bars(pack, cell_layout, load_a).values())
    bridge = bridge_bar(pack, cell_layout, load_a)
    posts, _ = tie_posts(pack, cell_layout, bare, (*bars, *([] if bridge is None else [bridge])))
    clear = channel_clear_mm(pack) + pack.holder.channel_play_mm / 2 + CHORD_MM
    places = np.array([(post.x_mm, post.y_mm, post.radius_mm + clear) for post in posts]).reshape(
        -1, 3
    )
    outline = cell_block_shape(block_outline(pack, cell_layout, posts))
    laid = lay_plates(pack, cell_layout, places, outline)
    if bridge is not None:
        laid = _with_bridge(pack, cell_layout, laid, bridge, places)
    _check_whole(cell_layout, laid)
    check_stock_width(pack, laid)
    offer = choose_plates(pack, cell_layout, laid, load_a=load_a, posts_mm=places)
    stack = bare.stack_mm.copy()
    for plate in offer.plates:
        row = 1 if plate.face is Face.UPPER else 0
        bar = 0.0 if plate.bar is None else plate.bar.thickness_mm + SOLDER_MM
        stack[row, list(plate.cells)] = plate.thickness_mm + bar
    return replace(
        bare,
        plates=offer.plates,
        stack_mm=stack,
        balance_leads=_balance_leads(cell_layout, offer.plates),
        notes=_notes(offer),
    )


def _with_bridge(
    pack: Pack,
    cell_layout: CellLayout,
    plates: tuple[BusPlate, ...],
    bridge: PlateBar,
    posts_mm: NDArray[np.float64],
) -> tuple[BusPlate, ...]:
    """The plates with the one that is opened for any work as two sheets, where both are whole."""
    found = bridged_joint(pack, plates)
    if found is None:
        return plates
    plate = plates[found.plate]
    others = [one for one in plates if one.face is plate.face and one is not plate]
    opened = in_two_sheets(pack, cell_layout, plate, bridge, posts_mm, others)
    if opened is None or not all(_is_whole(cell_layout, opened, sheet) for sheet in opened.parts):
        return plates
    return tuple(opened if one is plate else one for one in plates)


def _is_whole(cell_layout: CellLayout, plate: BusPlate, sheet: shapely.Polygon) -> bool:
    """Whether a sheet of a plate reaches its can ends: all of them, or where there are two sheets
    those of its group."""
    cells = np.array(plate.cells)
    if plate.is_bridged:
        near = shapely.distance(shapely.points(cell_layout.xy_mm[cells]), sheet)
        cells = cells[cell_layout.group[cells] == cell_layout.group[cells[int(np.argmin(near))]]]
    return in_one_piece(sheet, cell_layout.xy_mm[cells], LEAST_WIDE_MM)


def _check_whole(cell_layout: CellLayout, plates: tuple[BusPlate, ...]) -> None:
    """Raises PlanError where a plate does not reach all of its can ends in one piece."""
    for plate in plates:
        if not all(_is_whole(cell_layout, plate, sheet) for sheet in shapely.get_parts(plate.body)):
            groups = " and ".join(str(group) for group in plate.groups)
            raise PlanError(
                field="strip.joints",
                value="plates",
                why=f"leaves can ends of group {groups} on the {plate.face.value} face unjoined: "
                "nothing but narrow necks goes past posts and other potentials there",
                remedy="write links, use another lattice, or a smaller holder.post_mm",
            )


def _balance_leads(
    cell_layout: CellLayout, plates: tuple[BusPlate, ...]
) -> tuple[BalanceLead, ...]:
    """One on each plate, at its tail, by number from pack minus."""
    series = int(cell_layout.group.max())
    found = []
    for plate in plates:
        if plate.is_end:
            number = 0 if plate.is_minus else series
        else:
            number = plate.groups[0]
        cells = np.array(plate.cells)
        xy = cell_layout.xy_mm[cells]
        end = _lead_end_mm(plate)
        nearest = int(cells[np.argmin(np.hypot(*(xy - (end or xy.max(axis=0))).T))])
        found.append(
            BalanceLead(
                number=number,
                face=plate.face,
                groups=plate.groups,
                cell=nearest,
                notch=False,
                tail_mm=end,
            )
        )
    return tuple(sorted(found, key=lambda lead: lead.number))


def _lead_end_mm(plate: BusPlate) -> tuple[float, float] | None:
    """Where a plate's balance lead begins: its tail's end, else the bar's; None over the face."""
    if plate.bar is not None and plate.tail_end_mm is None:
        return plate.bar.tap_mm
    return plate.tail_end_mm


def _notes(offer: PlateOffer) -> tuple[str, ...]:
    """What was chosen, and what stays above its limit."""
    taken = offer.taken
    told = [
        f"{len(offer.plates)} plates, {taken.words}: {1e3 * taken.ohm:.2f} mohm in all joints, "
        f"current imbalance within a group {100 * taken.spread_ratio:.0f} % of the mean; "
        f"{offer.labour.pieces} pieces, {offer.labour.spots} weld spots, about "
        f"{offer.labour.minutes:.0f} minutes of work (judged)."
    ]
    if not taken.holds:
        which = "the metal given" if offer.is_given else "no metal of the list"
        verb = "does not keep" if offer.is_given else "keeps"
        told.append(f"Plates: {which} {verb} all limits: {taken.missed}.")
    if offer.beside is not None and offer.beside_labour is not None:
        misses = f" ({offer.beside.missed})" if offer.beside.missed else ""
        told.append(
            f"Beside it, {'chosen by current' if offer.is_given else 'as many weld them'}: "
            f"{offer.beside.words}: {1e3 * offer.beside.ohm:.2f} mohm, imbalance "
            f"{100 * offer.beside.spread_ratio:.0f} %{misses}; {offer.beside_labour.pieces} "
            f"pieces, {offer.beside_labour.spots} weld spots, about "
            f"{offer.beside_labour.minutes:.0f} minutes."
        )
    loose = [plate.name for plate in offer.plates if _lead_end_mm(plate) is None]
    if loose:
        told.append(
            f"No way out of the holder for the tails of plates {', '.join(loose)}: route their "
            "balance leads over the face, sleeved, away from the can ends."
        )
    return tuple(told)
