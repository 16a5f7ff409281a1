"""The bus strips of the end groups: copper along every row that a main lead takes its current from.

A nickel row fed at one end loads its near cells heavily and its far ones lightly. Flat copper
soldered onto the row before it is welded, slotted over each can end so that both weld electrodes
reach the nickel, evens that out. Its thickness is the least from stock that keeps the spread within
``SPREAD_RATIO``, or comes as close as the lip's height allows to a collector bar across the end
group."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from layouts.cells.arrangement import CellLayout
from layouts.currents.network import solve
from layouts.currents.strips import spread_ratio, strip_network
from layouts.pack import STACK_LEAST_MM, Face, Pack
from layouts.strips.joining import BUS_SLOT_MM, Interconnect, StripKind
from layouts.strips.lip import LEVEL_MM, positive_end

__all__ = ["BUS_STOCK_MM", "SPREAD_RATIO", "with_bus_strips"]

SPREAD_RATIO = 0.02  # wanted within every group: less than cells of one lot differ by themselves
NEAR_BEST_RATIO = 0.005  # so close to an ideal connection that more copper is no gain
BUS_STOCK_MM = (0.2, 0.3, 0.5, 0.8, 1.0)  # flat copper as sold; common practice, no source
LEAST_WIDE_MM = 2.0  # of copper left beside the slots; common practice, no source
WHOLE_CELLS = 2_000  # larger packs get the thickest bus at once: each solve takes its time


def with_bus_strips(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> Interconnect:
    """The joining with copper on the rows of both end groups, where it makes a difference.

    ``notes`` say what was chosen, and why the spread stays above ``SPREAD_RATIO`` where it does.
    """
    if pack.parallel == 1 or pack.strip.lead_width_mm - BUS_SLOT_MM < LEAST_WIDE_MM:
        return interconnect
    best = _spread(pack, cell_layout, interconnect, whole=True)
    reached = _spread(pack, cell_layout, interconnect)
    enough = max(SPREAD_RATIO, best + NEAR_BEST_RATIO)
    room = _room_mm(pack, cell_layout, interconnect)
    stock = [thick for thick in BUS_STOCK_MM if thick <= room + LEVEL_MM]
    if len(cell_layout.xy_mm) > WHOLE_CELLS:
        stock = stock[-1:]
    made, chosen = interconnect, 0.0
    for thick in stock:
        if reached <= enough:
            break
        made, chosen = _with_bus(cell_layout, interconnect, thick), thick
        reached = _spread(pack, cell_layout, made)
    return replace(made, notes=(*interconnect.notes, *_notes(pack, chosen, reached, best, enough)))


def _spread(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, *, whole: bool = False
) -> float:
    """Spread within the worst group; ``whole``: a collector bar across the end group."""
    network = strip_network(pack, cell_layout, interconnect, whole=whole)
    load_a = pack.parallel * pack.cell.continuous_a
    return spread_ratio(cell_layout.group, solve(network.network, load_a).cell_a)


def _room_mm(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> float:
    """Thickness that the stacks over all cells with a lead strip leave free in the lip."""
    room = np.inf
    for strip in interconnect.strips:
        if strip.kind is not StripKind.LEAD:
            continue
        cells = list(strip.cells)
        row = 1 if strip.face is Face.UPPER else 0
        ring = np.where(positive_end(cell_layout, strip.face)[cells], pack.holder.ring_mm, 0.0)
        left = pack.holder.lip_mm - ring - interconnect.stack_mm[row, cells] - STACK_LEAST_MM
        room = min(room, float(left.min()))
    return room if np.isfinite(room) else 0.0


def _with_bus(cell_layout: CellLayout, interconnect: Interconnect, thick_mm: float) -> Interconnect:
    stack = interconnect.stack_mm.copy()
    strips = []
    for strip in interconnect.strips:
        if strip.kind is StripKind.LEAD and (len(strip.cells) > 1 or strip.runs_out):
            strip = replace(strip, bus_mm=thick_mm)
            stack[1 if strip.face is Face.UPPER else 0, list(strip.cells)] += thick_mm
        strips.append(strip)
    return replace(interconnect, strips=tuple(strips), stack_mm=stack)


def _notes(
    pack: Pack, chosen: float, reached: float, best: float, enough: float
) -> tuple[str, ...]:
    """What the builder must know of the bus, and of the spread that stays."""
    said = []
    if chosen:
        said.append(
            f"Rows of both end groups carry a flat copper bus {pack.strip.lead_width_mm:g} x "
            f"{chosen:g} mm, soldered on before welding, with a slot of {BUS_SLOT_MM:g} mm over "
            "each can end for the weld electrodes."
        )
    if reached > SPREAD_RATIO:
        why = (
            f"{100 * best:.1f} % would remain with a collector bar across the end group, since "
            "not every cell has as many links to the next group"
            if reached <= enough
            else f"{100 * best:.1f} % with a collector bar across the end group; the lip leaves "
            "no height for thicker copper"
        )
        said.append(
            f"Current imbalance within a group up to {100 * reached:.1f} % of the mean: {why}."
        )
    return tuple(said)
