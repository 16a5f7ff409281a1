"""Wires of a tub: a way for each, posts under the leads, and what fails where there is none."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import pytest

from layouts.checks import Check
from layouts.enclosures.box.form import BoxEnclosure
from layouts.enclosures.box.sizes import EnclosureDesign
from layouts.enclosures.box.tub import tub_features, tub_parts
from layouts.enclosures.box.wires import tub_wire_checks
from layouts.pack import Lattice, Pack
from layouts.parts.shell import Rect
from layouts.planning.steps import OutsidePlan, outside_plan
from layouts.wiring.ways import least_radius_mm
from tests.layouts.enclosed import enclosed
from tests.layouts.parts.sound_parts import assert_sound
from tests.oracles.tub_formula import tub_formula_mm3
from tests.samples import sample_pack


def with_ways(pack: Pack) -> Pack:
    """The same pack, its wires' ways decided, its main leads of 4 mm2."""
    return replace(
        pack,
        enclosure=replace(pack.enclosure, wire_ways=True, style_is_open=False),
        leads=replace(pack.leads, wire_mm2=4.0, outside_mm=5.3),
    )


@dataclass(frozen=True)
class Wired:
    """A planned pack and its tub."""

    plan: OutsidePlan
    design: EnclosureDesign

    def checks(self, **changed: Any) -> tuple[Check, ...]:
        """Those of the wires, with a design changed."""
        x0, y0, x1, y1 = self.plan.cell_block.box_mm
        return tub_wire_checks(
            self.plan.pack, self.plan.interconnect, replace(self.design, **changed),
            Rect(x0=x0, y0=y0, x1=x1, y1=y1),
        )  # fmt: skip


@cache
def one() -> Wired:
    """4S6P of 26650 on a grid."""
    pack = sample_pack(4, 6, format="26650", chemistry="lfp", lattice=Lattice.GRID)
    plan = outside_plan(with_ways(pack))
    assert isinstance(plan.enclosure, BoxEnclosure)
    return Wired(plan, plan.enclosure.sizes)


def test_every_wire_has_a_way_and_every_lead_its_post() -> None:
    """All checks hold; each lead that leaves runs over its post, at its height, to its gland."""
    e = one()
    checks = e.checks()
    assert [c.id for c in checks if not c.holds] == []
    numbers = [way.number for way in e.plan.enclosure.ways]
    assert sorted(numbers) == sorted(["M1", "M2", "M3", *(f"B{k}" for k in range(5))])
    for way in e.plan.enclosure.ways:
        assert least_radius_mm(way.line_mm) >= 4.5 * way.outside_mm * 0.999
        assert way.cut_mm > way.way_mm
    posts = {post.name: post for post in e.design.tie_posts}
    for number, purpose in (("M3", "pack plus"), ("M2", "pack minus")):
        way = next(w for w in e.plan.enclosure.ways if w.number == number)
        post = posts[f"tie post of {purpose}"]
        under = way.line_mm[
            (way.line_mm[:, 0] > post.block.x0) & (way.line_mm[:, 0] < post.block.x1)
        ]
        under = under[-1:] if len(under) else way.line_mm[-1:]
        assert abs(float(under[0, 1]) - post.block.centre_mm[1]) < 3.0
        assert float(under[0, 2]) - way.outside_mm / 2 >= post.z1_mm - 0.1
    assert e.design.z_floor_mm < min(post.z1_mm for post in e.design.tie_posts)


def test_the_tub_with_posts_is_sound_and_each_post_counts() -> None:
    """Volume by the formula; without a post it is another."""
    design = one().design
    parts = tub_parts(design)
    for k, part in enumerate(parts):
        assert_sound(part, tub_formula_mm3(design, None if len(parts) == 1 else k))
    assert "tie post 0" in {feature.name for feature in tub_features(design)}
    fewer = replace(design, tie_posts=design.tie_posts[1:])
    assert tub_formula_mm3(fewer) < tub_formula_mm3(design)


def test_without_the_key_the_tub_stays_narrower_and_tells_no_ways() -> None:
    """Nothing of it is there; the compartment is as wide as one bend."""
    plain = enclosed("4S6P")
    assert plain.enclosure.ways == () and plain.design.tie_posts == ()
    assert one().design.bend_room_mm > plain.design.bend_room_mm


def test_a_way_through_a_post_or_board_fails() -> None:
    """The check measures the drawn line: moved, it meets something; left out, it is missed."""
    e = one()
    ways = e.design.ways
    moved = replace(
        ways[0],
        corners_mm=tuple((x - 8.0, y, z) for x, y, z in ways[0].corners_mm),
    )
    checks = e.checks(ways=(moved, *ways[1:]))
    assert [c.id for c in checks if not c.holds] == ["wire_ways"]
    assert ways[0].number in checks[1].where
    checks = e.checks(ways=ways[1:])
    assert "nothing of it" in checks[1].where and not checks[1].holds
    tight = replace(ways[0], radius_mm=ways[0].radius_mm * 0.8)
    checks = e.checks(ways=(tight, *ways[1:]))
    assert not checks[0].holds and checks[0].value == pytest.approx(4.5 * 0.8 - 0.5, rel=0.01)
