"""Faults put into the drawings of a pack made from its pack file: a named check of a run fails."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from layouts.brackets import angle_drawing
from layouts.enclosures.box import lid, tub
from layouts.holders import design, drawing
from layouts.holders.holder import HolderTile
from layouts.holders.levels import HolderHeights
from layouts.holders.outline import mirrored_outline
from layouts.pack import Face
from layouts.planning import steps
from layouts.slabs.profile import Arc, Loop, circle, moved
from tests.generators.proofs.made_pack import (
    Patch,
    checks_of,
    checks_with,
    failing,
    planned,
    sound_parts,
)
from tests.sampled import sampled

HOLDERS = ("holder_lower", "holder_upper")
Regions = dict[str, list[Loop]]


def regions(module: Any, function: str, change: Callable[[Regions, Any], None]) -> Patch:
    """A fault in the figures of a part's plan; ``change`` is also given what they are drawn of."""
    real = getattr(module, function)

    def wrong(of: Any, *rest: Any) -> Regions:
        found: Regions = real(of, *rest)
        change(found, of)
        return found

    return lambda monkeypatch: monkeypatch.setattr(module, function, wrong)


def heights(**changes: Callable[[HolderHeights], float]) -> Patch:
    """A fault in the holders' heights."""
    real = drawing.holder_heights

    def wrong(tile: Any) -> HolderHeights:
        found = real(tile)
        return replace(found, **{name: new(found) for name, new in changes.items()})

    return lambda monkeypatch: monkeypatch.setattr(drawing, "holder_heights", wrong)


def aside(found: Regions, _: Any) -> None:
    """Channels 0.3 mm aside."""
    found["channel"] = [moved(loop, 0.0, 0.3) for loop in found["channel"]]


def narrow(found: Regions, tile: Any) -> None:
    """Channels as wide as the strips, without play."""
    middle = tile.channels.mean(axis=1, keepdims=True)
    found["channel"] = [drawing._quad(quad) for quad in middle + 0.94 * (tile.channels - middle)]


def wide(found: Regions, tile: Any) -> None:
    """Channels of the lower face wider than the strips' play allows."""
    if tile.face is not Face.LOWER:
        return
    middle = tile.channels.mean(axis=1, keepdims=True)
    found["channel"] = [drawing._quad(quad) for quad in middle + 1.15 * (tile.channels - middle)]


def no_notch(found: Regions, _: Any) -> None:
    """The last cut of a face, which is a balance lead's notch, left out."""
    found["channel"] = found["channel"][:-1]


def other_poles(found: Regions, _: Any) -> None:
    """Seats at the negative ends."""
    found["positive"], found["negative"] = found["negative"], found["positive"]


def not_mirrored(monkeypatch: pytest.MonkeyPatch) -> None:
    """The upper holder drawn like the lower one."""
    for name in ("_points", "_quads", "_post"):
        real = getattr(design, name)
        monkeypatch.setattr(design, name, lambda one, _, real=real: real(one, False))
    monkeypatch.setattr(design, "mirrored_outline", lambda outline: outline)


def lower_mirrored(monkeypatch: pytest.MonkeyPatch) -> None:
    """The lower holder mirrored like the upper one."""
    real = steps.holder_tiles

    def wrong(tile: HolderTile) -> HolderTile:
        if tile.face is not Face.LOWER:
            return tile
        return replace(
            tile,
            outline=mirrored_outline(tile.outline),
            xy_mm=design._points(tile.xy_mm, True),
            channels=design._quads(tile.channels, True),
            bars=design._quads(tile.bars, True),
            posts=tuple(design._post(post, True) for post in tile.posts),
        )

    monkeypatch.setattr(steps, "holder_tiles", lambda *a: tuple(map(wrong, real(*a))))


def rounds(name: str, radius_mm: float) -> Callable[[Regions, Any], None]:
    """All circles of a region with another radius."""

    def change(found: Regions, _: Any) -> None:
        arcs = [loop[0] for loop in found[name]]
        found[name] = [circle(arc.centre, radius_mm) for arc in arcs if isinstance(arc, Arc)]

    return change


def bores(module: Any, function: str, change: Callable[[Any], float]) -> Patch:
    """Bores with another radius."""
    real = getattr(module, function)
    return lambda monkeypatch: monkeypatch.setattr(
        module,
        function,
        lambda *a: type(real(*a))(replace(one, radius_mm=change(one)) for one in real(*a)),
    )


def leg_holes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The bracket's holes half as wide: a radius where a diameter was meant."""
    real = angle_drawing.through
    monkeypatch.setattr(
        angle_drawing,
        "through",
        lambda start, way, radius, wall: real(start, way, radius / 2, wall),
    )


def no_guides(found: Regions, of: Any) -> None:
    """The board's guides left out."""
    found["guide"] = []


FAULTS: dict[str, tuple[Patch, tuple[str, ...], set[str]]] = {
    "channels 0.3 mm aside": (
        regions(drawing, "_regions", aside), HOLDERS, {"strips_in_channels"}),
    "channels without play": (
        regions(drawing, "_regions", narrow), HOLDERS, {"strips_in_channels"}),
    "channels with too much play": (
        regions(drawing, "_regions", wide), HOLDERS, {"lip_as_planned"}),
    "windows 0.7 mm wide": (
        regions(drawing, "_regions", rounds("window", 7.6)), HOLDERS, {"lip_as_planned"}),
    "a notch left out": (
        regions(drawing, "_regions", no_notch), HOLDERS, {"notches_open"}),
    "ring seats left out": (
        heights(seat_mm=lambda h: h.web_mm - 0.4), HOLDERS, {"rings_in_seats", "ends_free"}),
    "ring seats too deep": (
        heights(seat_mm=lambda h: h.seat_mm - 0.3), HOLDERS, {"ends_borne"}),
    "ring seats at the other poles": (
        regions(drawing, "_regions", other_poles), HOLDERS,
        {"rings_in_seats", "ends_free", "ends_borne"}),
    "webs not recessed": (
        heights(web_mm=lambda h: h.web_mm - 0.35), HOLDERS, {"strips_on_cans"}),
    "webs recessed too far": (
        heights(web_mm=lambda h: h.web_mm + 0.3), HOLDERS, {"strips_not_hollow"}),
    "upper face not mirrored": (not_mirrored, ("holder_upper",), {"strips_in_channels"}),
    "lower face mirrored": (lower_mirrored, ("holder_lower",), {"strips_in_channels"}),
    "tie holes: a diameter as radius": (
        regions(drawing, "_regions", rounds("hole", 2.9)), HOLDERS, {"tie_holes"}),
    "insert holes 0.3 mm wide": (
        regions(tub, "tub_regions", rounds("insert", 2.15)), ("tub",), {"insert_holes"}),
    "insert holes 0.3 mm narrow": (
        regions(tub, "tub_regions", rounds("insert", 1.85)), ("tub",), {"insert_holes"}),
    "lid holes: a diameter as radius": (
        regions(lid, "lid_regions", rounds("hole", 3.4)), ("lid",), {"screw_holes"}),
    "bores in the tub: a diameter as radius": (
        bores(tub, "tub_bores", lambda one: 2 * one.radius_mm), ("tub",),
        {"insert_holes", "gland_holes", "glands_held"}),
    "bores in the tub: half a radius": (
        bores(tub, "tub_bores", lambda one: one.radius_mm / 2), ("tub",),
        {"insert_holes", "gland_holes", "glands_go_in"}),
    "bracket: a radius as diameter": (leg_holes, ("bracket",), {"screw_holes"}),
    "board guides left out": (
        regions(tub, "tub_regions", no_guides), ("tub",), {"board_held"}),
}  # fmt: skip


def test_the_sound_pack_holds() -> None:
    """Without a fault every proof holds, and the new ones are among them."""
    checks = checks_of(planned(), sound_parts())
    assert failing(checks) == set()
    assert set().union(*(expected for *_, expected in FAULTS.values())) <= set(checks)


# the others with the slow ones: their checks are shown to fail on altered meshes as well
NORMAL = {
    "channels 0.3 mm aside", "channels with too much play", "a notch left out",
    "ring seats left out",
    "lower face mirrored", "tie holes: a diameter as radius", "insert holes 0.3 mm wide",
    "lid holes: a diameter as radius",
    "bracket: a radius as diameter", "board guides left out",
}  # fmt: skip


@pytest.mark.one_in(3)
@pytest.mark.parametrize("fault", sampled(FAULTS, NORMAL.__contains__))
def test_a_fault_in_a_drawing_fails_its_check(fault: str) -> None:
    """The named checks fail, and each says where."""
    patch, roles, expected = FAULTS[fault]
    checks = checks_with(patch, roles)
    found = failing(checks)
    assert expected <= found
    assert all(checks[id_].where and checks[id_].remedy for id_ in expected)
