"""Face plans, pocket cuts and the picture job of planned packs."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from generators import pages
from generators.drawings.plan import face_plan, text_wide_mm
from generators.drawings.pocket import pocket_section
from generators.made_part import MadePart
from generators.making import made_part
from generators.pages import picture_job
from layouts.pack import Face, Lattice
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.planning.parts_list import parts_of
from tests.samples import linked_pack, sample_pack

Made = tuple[PackPlan, list[MadePart]]


@pytest.fixture(scope="module", params=[Lattice.HONEYCOMB, Lattice.GRID], ids=lambda x: x.value)
def made(request: pytest.FixtureRequest) -> Made:
    """A pack of 2S3P, planned and made; plates on the honeycomb, straight strips on the grid."""
    pack_of = sample_pack if request.param is Lattice.HONEYCOMB else linked_pack
    plan = plan_pack(pack_of(2, 3, lattice=request.param))
    return plan, [made_part(part) for part in parts_of(plan)]


def plan_svg(plan: PackPlan, face: Face) -> str:
    """The face's plan with the tub's rectangle round it."""
    outer = plan.enclosure.sizes.outer
    corners = np.array(
        [(outer.x0, outer.y0), (outer.x1, outer.y0), (outer.x1, outer.y1), (outer.x0, outer.y1)]
    )
    return face_plan(
        plan.pack,
        plan.cell_layout,
        plan.interconnect,
        plan.cell_block.outline,
        face,
        surround=(corners,),
    )


def view_box(svg: str) -> tuple[float, float, float, float]:
    """Least x, least y, width and height of a picture's view."""
    found = re.search(r'viewBox="([-\d. ]+)"', svg)
    assert found is not None
    x, y, wide, tall = map(float, found.group(1).split())
    return x, y, wide, tall


@pytest.mark.one_in(2)
def test_every_cell_has_its_sign_and_number(made: Made) -> None:
    """Group 1 stands with its plus up, group 2 with its minus; below it is the other way."""
    plan, _ = made
    minus = "\N{MINUS SIGN}"
    upper, lower = plan_svg(plan, Face.UPPER), plan_svg(plan, Face.LOWER)
    assert upper.count(">+1<") == 3 and upper.count(f">{minus}2<") == 3
    assert lower.count(f">{minus}1<") == 3 and lower.count(">+2<") == 3


def test_names_of_leads_lie_within_the_picture_and_outside_the_tub(made: Made) -> None:
    """Neither cut off at the border nor over the dashed lines, on the face that they leave."""
    plan, _ = made
    svg = plan_svg(plan, Face.LOWER)
    x0, _, wide, _ = view_box(svg)
    names = re.findall(
        r'<text x="(-?[\d.]+)" [^>]*font-size="([\d.]+)"[^>]*text-anchor="end">([^<]+)', svg
    )
    assert [text for _, _, text in names].count("pack") == 2
    for x, size, text in names:
        # mirrored: the leads leave to the left, the tub's far side is at -x1
        assert float(x) < -plan.enclosure.sizes.outer.x1
        assert float(x) - text_wide_mm(text, float(size)) >= x0
    assert "pack" not in re.sub(r"<title>.*?</title>", "", plan_svg(plan, Face.UPPER))
    assert wide > 0


def test_the_heading_is_not_cut_off() -> None:
    """Also on the narrowest pack, one cell, the heading fits the picture."""
    plan = plan_pack(sample_pack(1, 1, format="18650"))
    for face in Face:
        svg = plan_svg(plan, face)
        x0, _, wide, _ = view_box(svg)
        found = re.search(r'<text x="(-?[\d.]+)" y="[^"]*" font-size="5"[^>]*>([^<]+)', svg)
        assert found is not None
        assert float(found.group(1)) + text_wide_mm(found.group(2), 5.0) <= x0 + wide


def test_the_pocket_shows_all_that_lies_there(made: Made) -> None:
    """Both cuts name can, ring, strip, gas and tub; lip and channel."""
    svg = pocket_section(*made)
    for text, count in {
        "can": 2,
        "vent path": 2,
        "tub floor": 2,
        "insulating ring": 2,
        "strip" if made[0].interconnect.strips else "plate": 2,
        "lip": 1 if made[0].interconnect.strips else 2,  # a slot's tongue stands in the other cut
    }.items():
        assert svg.count(f">{text}</text>") == count, text
    # a plate's channel runs under the whole cut: no wall or web stands beside it to be named
    assert (">channel floor</text>" in svg) is bool(made[0].interconnect.strips)
    assert ">pocket wall</text>" in svg


def test_the_pocket_names_nothing_that_is_not_there(made: Made) -> None:
    """Without a holder in the cut its lip, wall and channel are not named."""
    tub = [one for one in made[1] if one.part.role == "tub"]
    svg = pocket_section(made[0], tub)
    assert not any(f">{text}</text>" in svg for text in ("lip", "pocket wall", "channel floor"))


def test_a_small_pack_is_drawn_whole(made: Made) -> None:
    """Every part alone and in its place, every cell."""
    plan, parts = made
    job = picture_job(plan, parts)
    assert [part.name for part in job.parts] == [one.name for one in parts]
    assert all(part.alone and part.placed for part in job.parts)
    assert len(job.cans.xy_mm) == 6


def test_a_large_pack_shows_one_tile_of_each_face(
    made: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Past the limit the other tiles are left out of the assembly, past the fourth of all."""
    plan, parts = made
    lower = next(one for one in parts if one.part.role == "holder_lower")
    tiles = [
        replace(lower, part=replace(lower.part, name=f"holder-lower-{k}")) for k in range(1, 7)
    ]
    monkeypatch.setattr(pages, "CANS_MOST", 5)
    job = picture_job(plan, [*tiles, *(one for one in parts if one is not lower)])
    drawn = [part for part in job.parts if part.role == "holder_lower"]
    assert [part.name for part in drawn] == [f"holder-lower-{k}" for k in range(1, 5)]
    assert all(part.alone for part in drawn)
    assert [len(part.placed) for part in drawn] == [1, 0, 0, 0]
    assert len(job.cans.xy_mm) == 5
