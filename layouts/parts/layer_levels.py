"""Heights that the pack file asks for, in whole layers of its printer.

A slicer prints whole layers and rounds every other height, up or down as it falls: a lip, a seat or
a floor would be half a layer less than asked. Rounded here, all that follows from them agrees.
"""

from __future__ import annotations

from dataclasses import replace

from layouts.pack import FINE_LAYER_MM, EnclosureSpec, Holder, Pack
from layouts.parts.whole_layers import layers_down_mm, layers_up_mm

__all__ = ["HOLDER_HEIGHTS", "in_whole_layers"]

HOLDER_HEIGHTS = ("lip_mm", "depth_mm", "seat_mm", "web_recess_mm", "bar_mm")
WEB_RECESS_MOST_MM = 0.6  # of a web behind the can ends: a strip is pressed down no farther
NOISE_MM = 1e-6


def in_whole_layers(pack: Pack) -> Pack:
    """The pack with lip, seat, floors, bars and pockets of the holder, floor and lid in whole
    layers: none thinner, shallower or lower than asked. In layers of more than ``FINE_LAYER_MM``
    the gaps for gas are whole too, so that the whole stack from floor to lid is."""
    layer_mm = pack.printer.layer_mm
    return replace(
        pack, holder=_holder(pack, layer_mm), enclosure=_enclosure(pack.enclosure, layer_mm)
    )


def _holder(pack: Pack, layer_mm: float) -> Holder:
    holder = pack.holder
    seat_mm = layers_up_mm(holder.seat_mm, layer_mm)
    return replace(
        holder,
        # what stays behind a ring's seat counts, not the lip alone
        lip_mm=round(seat_mm + layers_up_mm(holder.lip_mm - holder.seat_mm, layer_mm), 6),
        seat_mm=seat_mm,
        depth_mm=layers_up_mm(holder.depth_mm, layer_mm),
        web_recess_mm=_web_recess_mm(pack, seat_mm, layer_mm),
        bar_mm=layers_up_mm(holder.bar_mm, layer_mm),
    )


def _web_recess_mm(pack: Pack, seat_mm: float, layer_mm: float) -> float:
    """As asked; in thick layers no less than what a can may move by, or a web would lift its
    strip off."""
    asked_mm = pack.holder.web_recess_mm
    if layer_mm > FINE_LAYER_MM:
        play_mm = pack.lip_to_lip_mm - pack.cell.length_mm
        sinks_mm = max(0.0, seat_mm - pack.holder.ring_mm)
        return layers_up_mm(max(asked_mm, play_mm + sinks_mm), layer_mm)
    recess_mm = layers_up_mm(asked_mm, layer_mm)
    if recess_mm > max(WEB_RECESS_MOST_MM, asked_mm) + NOISE_MM:
        return layers_down_mm(asked_mm, layer_mm)
    return recess_mm


def _enclosure(case: EnclosureSpec, layer_mm: float) -> EnclosureSpec:
    gap_mm = case.gas_gap_mm
    return replace(
        case,
        floor_mm=layers_up_mm(case.floor_mm, layer_mm),
        lid_mm=layers_up_mm(case.lid_mm, layer_mm),
        gas_gap_mm=layers_up_mm(gap_mm, layer_mm) if layer_mm > FINE_LAYER_MM else gap_mm,
    )
