"""What may be changed where a check of shapes and clearances fails, best first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from generators.fixes.gasket import GASKET
from generators.fixes.holder_fit import HOLDER_FIT
from generators.fixes.steps import WIRES_MM2, Changes, down, up
from generators.fixes.strength import STRENGTH
from layouts import defaults
from layouts.checks import Check
from layouts.pack import EnclosureStyle, Lattice, Pack, Side
from layouts.planning.candidates import candidate_miss_mm, candidates_of
from layouts.planning.estimate import ENVELOPE_OFF_MM
from layouts.planning.layout_search import cells_may_go_in
from layouts.planning.pack_plan import PackPlan

__all__ = ["GEOMETRY"]

Candidates = Callable[[Check, PackPlan], Iterator[Changes]]

NARROWEST_MM, THINNEST_POST_MM = 2.0, 7.6  # that the pack file permits
NECK_MM = (1.0, 12.0)  # that the pack file permits
THINNEST_RING_MM = 0.2  # of usual paper rings; common practice, no source
THINNEST_WALL_MM = 1.2  # that the pack file permits
NOZZLES_MM = (0.8, 0.6, 0.4)  # that are sold; from memory
BEDS_MM = (250.0, 300.0, 350.0, 400.0)  # of common printers; from memory


def _narrower(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Links, rows, both and the rows of the leads too, step by step; no wider than they are."""
    strip = plan.pack.strip
    for less in (1.0, 2.0, 3.0, 4.0):
        row, link = strip.row_width_mm - less, strip.link_width_mm - less
        if link >= NARROWEST_MM:
            yield {"strip.link_width_mm": link}
        if row >= NARROWEST_MM:
            yield {"strip.row_width_mm": row}
        if min(row, link) >= NARROWEST_MM:
            yield {"strip.row_width_mm": row, "strip.link_width_mm": link}
        lead = strip.lead_width_mm - less
        if lead >= NARROWEST_MM:
            yield {"strip.lead_width_mm": lead}
        if min(row, link, lead) >= NARROWEST_MM:
            yield {
                "strip.row_width_mm": row,
                "strip.link_width_mm": link,
                "strip.lead_width_mm": lead,
            }


def _some_narrower(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Few steps, where each needs a whole plan."""
    strip = plan.pack.strip
    for less in (1.0, 2.0):
        row, link, lead = (
            width - less for width in (strip.row_width_mm, strip.link_width_mm, strip.lead_width_mm)
        )
        if min(row, link, lead) >= NARROWEST_MM:
            yield {"strip.row_width_mm": row, "strip.link_width_mm": link}
            yield {
                "strip.row_width_mm": row,
                "strip.link_width_mm": link,
                "strip.lead_width_mm": lead,
            }


def _thicker_lip(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """The force grows with the square of the lip's thickness."""
    lip = plan.pack.holder.lip_mm
    if check.value and check.limit and check.value > 0:
        least = up(lip * (check.limit / check.value) ** 0.5, 0.2)
        if lip < least <= 4.0:
            yield {"holder.lip_mm": least}
    yield from _narrower(check, plan)


def _web(check: Check, plan: PackPlan) -> Iterator[Changes]:
    holder = plan.pack.holder
    for more in (0.25, 0.5, 1.0, 2.0, 3.0):
        if holder.web_mm + more <= 10:
            yield {"holder.web_mm": round(holder.web_mm + more, 2)}


def _web_or_narrower(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield from _narrower(check, plan)
    yield from _web(check, plan)


def _can_spacing(check: Check, plan: PackPlan) -> Iterator[Changes]:
    if check.value is not None and check.limit is not None:
        lacking = check.limit - check.value
        if lacking > 0:
            yield {"holder.web_mm": up(plan.pack.holder.web_mm + lacking, 0.05)}
    yield from _web(check, plan)
    yield from _other_lattice(check, plan)


def _other_lattice(check: Check, plan: PackPlan) -> Iterator[Changes]:
    grid = plan.pack.lattice is Lattice.GRID
    yield {"lattice": "honeycomb" if grid else "grid"}


def _seat(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """The web behind the can ends 0.4 deep, the ring near to its seat's depth."""
    holder = plan.pack.holder
    yield {"holder.web_recess_mm": 0.4}
    for slack in (0.2, 0.1, 0.0):
        seat = round(holder.ring_mm + slack, 2)
        yield {"holder.seat_mm": seat}
        yield {"holder.web_recess_mm": 0.4, "holder.seat_mm": seat}


def _stack(check: Check, plan: PackPlan) -> Iterator[Changes]:
    pack = plan.pack
    if check.value is not None and check.limit is not None:
        lip = up(pack.holder.lip_mm + check.limit - check.value, 0.2)
        if lip <= 4.0:
            yield {"holder.lip_mm": lip}
    for layers in range(pack.strip.layers - 1, 0, -1):
        yield {"strip.layers": layers}


def _posts(check: Check, plan: PackPlan) -> Iterator[Changes]:
    if plan.pack.holder.post_mm > THINNEST_POST_MM:
        yield {"holder.post_mm": THINNEST_POST_MM}
    yield from _other_lattice(check, plan)
    yield from _web_or_narrower(check, plan)


def _flank_posts(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Posts instead of the lid's clamp."""
    yield {"holder.flank_posts": True}


def _thicker_lid(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Lids that a usual length of screw suits."""
    lid = plan.pack.enclosure.lid_mm
    yield from ({"enclosure.lid_mm": lid + more} for more in (1.0, 2.0))


def _window(check: Check, plan: PackPlan) -> Iterator[Changes]:
    for less in (0.5, 1.0, 2.0, 3.0):
        yield {"holder.window_mm": round(plan.pack.holder.window_mm - less, 2)}


def _ring(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A ring where there is none; a window that leaves the ring wide enough."""
    holder = plan.pack.holder
    if holder.ring_mm < THINNEST_RING_MM:
        for ring in (0.3, THINNEST_RING_MM):
            yield {"holder.ring_mm": ring}
            yield {"holder.ring_mm": ring, "holder.seat_mm": 0.4}
    elif check.value is not None and check.limit is not None:
        window = down(holder.window_mm - 2 * (check.limit - check.value), 0.1)
        yield {"holder.window_mm": window}
        yield {"holder.window_mm": window - 1.0}


def _web_ends(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Under plates pins where they were not wanted, the other lattice, or straight strips, whose
    channels are narrow; under these narrower ones."""
    if not plan.interconnect.plates:
        yield from _narrower(check, plan)
        return
    if not plan.pack.holder.support_pins:
        yield {"holder.support_pins": True}
    yield from _other_lattice(check, plan)
    yield {"strip.joints": "links"}


def _shorts(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Narrower strips, more web; a floor of the file's own that is higher than the table's."""
    yield from _some_narrower(check, plan)
    for more in (0.5, 1.0):
        yield {"holder.web_mm": round(plan.pack.holder.web_mm + more, 2)}
    if plan.pack.spacing_floor_mm > 0 and check.value is not None:
        yield {"spacing_floor_mm": max(0.0, down(check.value, 0.1))}


def _pads(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield from _web(check, plan)
    yield from _some_narrower(check, plan)


def _side_gap(check: Check, plan: PackPlan) -> Iterator[Changes]:
    gap = plan.pack.enclosure.side_gap_mm
    for more in (0.5, 1.0, 2.0, 4.0):
        yield {"enclosure.side_gap_mm": gap + more}
    if gap > 1.25:
        yield {"enclosure.side_gap_mm": 1.25}


def _partition(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Rooms farther from the cells, or elsewhere: they follow the side of the leads."""
    yield from _side_gap(check, plan)
    yield from _other_side(check, plan)


def _radius(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A hollow's radius outside is the less by the wall's thickness; then a finer nozzle."""
    wall = plan.pack.enclosure.wall_mm
    if check.value is not None and check.limit is not None and check.limit > check.value:
        thinner = down(wall - (check.limit - check.value), 0.1)
        if thinner >= THINNEST_WALL_MM:
            yield {"enclosure.wall_mm": thinner}
    for nozzle in NOZZLES_MM:
        if nozzle < plan.pack.printer.nozzle_mm:
            yield {"printer.nozzle_mm": nozzle}


def _other_side(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Glands follow the side of the leads."""
    for side in Side:
        if side is not plan.pack.leads.side:
            yield {"leads.side": side.value}


def _held(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Walls nearer to the cell block."""
    gap = plan.pack.enclosure.side_gap_mm
    for less in (4.0, 3.0, 2.0, 1.25, 1.0, 0.5):
        if less < gap:
            yield {"enclosure.side_gap_mm": less}


def _gas_window(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A wider window, as far as the lip allows; narrower strips."""
    for wider in (1.0, 2.0, 3.0):
        yield {"holder.window_mm": plan.pack.holder.window_mm + wider}
    yield from _some_narrower(check, plan)


def _gas(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Wider where it is narrowest: gap over the face, room beside the board."""
    pack = plan.pack
    if pack.enclosure.gasket is not None:  # at a higher pressure less is needed
        for ratio in (1.3, 1.6, 2.0):
            opens = up(ratio * pack.enclosure.gasket.opens_at_kpa, 0.1)
            yield {"enclosure.gasket.opens_at_kpa": opens}
    for more in (1.0, 2.0, 4.0, 8.0):
        yield {"enclosure.gas_gap_mm": pack.enclosure.gas_gap_mm + more}
    yield from _side_gap(check, plan)


def _thinner_wire(check: Check, plan: PackPlan) -> Iterator[Changes]:
    area = plan.pack.leads.wire_mm2
    for thinner in reversed([one for one in WIRES_MM2 if one < area]):
        yield {"leads.wire_mm2": thinner}


def _bed(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Other fields of cells may be cut elsewhere; else a larger printer."""
    yield from _other_lattice(check, plan)
    bed = plan.pack.printer.bed_mm
    for side in BEDS_MM:
        if side > min(bed[:2]):
            yield {"printer.bed_mm": [max(side, bed[0]), max(side, bed[1]), bed[2]]}


def _space(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Turned, on another lattice, in walls that follow the space, with fewer cells, without an
    enclosure: what an estimate does not rule out. In a space that is no box walls that follow it
    are what helps most, so they come first there."""
    pack = plan.pack
    boxed = pack.space is not None and pack.space.is_box
    follows = list(_in_fitted(pack))
    if not boxed:
        yield from follows
    if pack.enclosure.style is EnclosureStyle.TUB:
        yield from _other_tubs(pack, follows if boxed else [])
    if pack.enclosure.style is not EnclosureStyle.NONE:
        yield {"enclosure.style": EnclosureStyle.NONE.value}


def _in_fitted(pack: Pack) -> Iterator[Changes]:
    """An enclosure that follows the space, on either lattice, where held cells find room."""
    for lattice in (pack.lattice, *(one for one in Lattice if one is not pack.lattice)):
        changes: dict[str, object] = {"enclosure.style": EnclosureStyle.FITTED.value}
        if lattice is not pack.lattice:
            changes["lattice"] = lattice.value
        enclosure = defaults.enclosure(EnclosureStyle.FITTED)
        one = replace(pack, enclosure=enclosure, lattice=lattice)
        if pack.enclosure.style is not EnclosureStyle.FITTED and cells_may_go_in(one):
            yield changes


def _other_tubs(pack: Pack, before_fewer: list[Changes]) -> Iterator[Changes]:
    """As the tub may be changed; ``before_fewer``: what is tried before cells are left out."""
    changed: list[tuple[Changes, Pack]] = [
        ({"leads.side": one.value}, replace(pack, leads=replace(pack.leads, side=one)))
        for one in Side
        if one is not pack.leads.side
    ]
    other = Lattice.HONEYCOMB if pack.lattice is Lattice.GRID else Lattice.GRID
    changed.append(({"lattice": other.value}, replace(pack, lattice=other)))
    yield from (change for change, one in changed if _tub_may_fit(one))
    yield from before_fewer
    for fewer in range(pack.parallel - 1, 0, -1):
        if _tub_may_fit(replace(pack, parallel=fewer)):
            yield {"parallel": fewer}


def _tub_may_fit(pack: Pack) -> bool:
    return candidate_miss_mm(pack, next(candidates_of(pack))) <= ENVELOPE_OFF_MM


def _stronger_neck(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Wider, then shorter as well: the current that melts a neck goes with both."""
    assert check.value is not None and check.limit
    wide_mm, long_mm = plan.pack.strip.cell_fuse_mm or (0.0, 0.0)
    ratio = check.value / check.limit
    wider = up(wide_mm * ratio, 0.1)
    if wider <= NECK_MM[1]:
        yield {"strip.cell_fuse_mm": [wider, long_mm]}
    shorter = down(long_mm / ratio, 0.1)
    if shorter >= NECK_MM[0]:
        yield {"strip.cell_fuse_mm": [wide_mm, shorter]}


def _weaker_neck(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Narrower, then longer, then more cells that melt it."""
    wide_mm, long_mm = plan.pack.strip.cell_fuse_mm or (0.0, 0.0)
    for share in (0.8, 0.6):
        if wide_mm * share >= NECK_MM[0]:
            yield {"strip.cell_fuse_mm": [down(wide_mm * share, 0.1), long_mm]}
    if long_mm * 1.3 <= NECK_MM[1]:
        yield {"strip.cell_fuse_mm": [wide_mm, up(long_mm * 1.3, 0.1)]}
    yield from _more_parallel(check, plan)


def _more_parallel(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield from ({"parallel": plan.pack.parallel + more} for more in (1, 2))


GEOMETRY: Mapping[str, Candidates] = {
    "can_spacing": _can_spacing,
    "lead_out_mm": _other_lattice,
    "strip_gap_mm": _web_or_narrower,
    "strip_window_mm": _web_or_narrower,
    "lip_force_n": _thicker_lip,
    "lip_rim_deg": _narrower,
    "lip_gap_deg": _narrower,
    "strip_seat_mm": _seat,
    "strip_proud_mm": _seat,
    "strip_stack_mm": _stack,
    "short_strips": _shorts,
    "short_cans": _shorts,
    "short_metal": _shorts,
    "short_surface": _shorts,
    "cell_fuse_peak_a": _stronger_neck,
    "cell_fuse_opens_s": _weaker_neck,
    "cell_fuse_others_a": _more_parallel,
    "ring_present": _ring,
    "tie_posts": _posts,
    "post_clearance": _posts,
    "post_channel": _posts,
    "post_spacing": _posts,
    "clamp_preload": _flank_posts,
    "clamp_screws": _flank_posts,
    "clamp_floor": _flank_posts,
    "clamp_clear": _flank_posts,
    "clamp_lid": _thicker_lid,
    "smallest_island_mm2": _some_narrower,
    "web_mm": _web,
    "web_spans": _web_ends,
    "web_ends": _web_ends,
    "lead_in_land_mm": _web,
    "groove_land_mm": _web,
    "lip_land_mm": _window,
    "tile_keys": _bed,
    "fits_bed": _bed,
    "lid_screw_spacing": _side_gap,
    "enclosure_room": _side_gap,
    "core_held": _held,
    "partition_closed": _partition,
    "enclosure_radius": _radius,
    "gas_away": _other_side,
    "pads_clear": _pads,
    "outlet_bend": _thinner_wire,
    "wire_bends": _thinner_wire,
    "wire_ways": _thinner_wire,
    "fuse_way": _thinner_wire,
    "seams_clear": _bed,
    "seams_found": _bed,
    "seam_screw_access": _bed,
    "gas_way": _gas,
    "gas_window": _gas_window,
    "space": _space,
    "space_overlap": _space,
    **GASKET,
    **HOLDER_FIT,
    **STRENGTH,
}
