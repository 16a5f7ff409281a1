"""Posts, seats and support pads: where they may stand and that the checks can fail."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from scipy.spatial.distance import pdist

from layouts.cells.arrangement import CellLayout
from layouts.errors import PlanError
from layouts.holders.boss_seats import BOSS_RADIUS_MM, LID_STEP_MM, room_corners_mm
from layouts.holders.channels import channels_mm
from layouts.holders.fastening import (
    SADDLE_PAD_RADIUS_MM,
    CellBlock,
    fasten,
    fastening_checks,
    posts_of_tiles,
)
from layouts.holders.holder import Post
from layouts.holders.outline import BALL_MM, outline_box_mm, outline_points_mm
from layouts.holders.spans import longest_step_mm, stepping_stones
from layouts.pack import Face, Lattice, Pack
from layouts.parts.tie_screw import lead_in_mm, post_reach_mm, tie_screw
from layouts.strips.joining import Interconnect
from layouts.strips.laying import join
from tests.layouts.fields import laid
from tests.samples import sample_pack

GRID = Lattice.GRID
PACKS = {
    "1S1P": (sample_pack(1, 1), {}),
    "1S1P 18650": (sample_pack(1, 1, format="18650"), {}),
    "1S2P": (sample_pack(1, 2), {}),
    "1S7P": (sample_pack(1, 7), {}),
    "2S1P grid": (sample_pack(2, 1, lattice=GRID), {}),
    "5S1P": (sample_pack(5, 1, format="18650"), {}),
    "7S3P": (sample_pack(7, 3), {}),
    "10S4P": (sample_pack(10, 4), {}),
    "4S6P grid": (sample_pack(4, 6, format="26650", chemistry="lfp", lattice=GRID), {}),
    "3S11P": (sample_pack(3, 11, format="32700"), {"rows": 2}),
    "fold": (sample_pack(6, 4), {"fold": 3}),
    "tiles": (sample_pack(12, 8), {"row_cut": 6, "column_cut": 8, "growth_mm": 1.15}),
    "tiles grid": (sample_pack(8, 6, lattice=GRID), {"row_cut": 4, "growth_mm": 1.15}),
}


@pytest.fixture(scope="module")
def cores() -> dict[str, tuple[Pack, CellLayout, Interconnect, CellBlock]]:
    """Every pack laid by hand and fastened once."""
    made = {}
    for name, (pack, ways) in PACKS.items():
        cell_layout = laid(pack, **ways)  # type: ignore[arg-type]
        interconnect = join(pack, cell_layout)
        made[name] = (pack, cell_layout, interconnect, fasten(pack, cell_layout, interconnect))
    return made


Cores = dict[str, tuple[Pack, CellLayout, Interconnect, CellBlock]]


@pytest.mark.parametrize("name", PACKS)
def test_every_pack_gets_posts_that_pass_their_checks(name: str, cores: Cores) -> None:
    """Enough posts, clear of cans, lead-ins and channels, close enough along long sides."""
    pack, cell_layout, interconnect, cell_block = cores[name]
    checks = fastening_checks(pack, cell_layout, interconnect, cell_block)
    assert {check.id for check in checks} == {
        "tie_posts",
        "post_clearance",
        "post_channel",
        "post_spacing",
    }
    assert [check.id for check in checks if not check.holds] == []


@pytest.mark.parametrize("name", PACKS)
def test_posts_by_plain_distances(name: str, cores: Cores) -> None:
    """Checked by distances alone: 0.4 to cans, 0.1 to lead-ins, posts apart, in the outline."""
    pack, cell_layout, interconnect, cell_block = cores[name]
    posts = np.array([(post.x_mm, post.y_mm) for post in cell_block.posts])
    away = np.hypot(*(posts[:, None] - cell_layout.xy_mm[None]).transpose(2, 0, 1)).min()
    assert away - 4.0 - pack.cell.diameter_mm / 2 >= 0.4 - 1e-9
    assert away - 4.0 - pack.pocket_mm / 2 - lead_in_mm(pack) >= 0.1 - 1e-9
    assert pdist(posts).min() >= 16.0
    shape = shapely.Polygon(outline_points_mm(cell_block.outline, 0.01))
    discs = shapely.buffer(shapely.points(posts), 5.19)
    assert shapely.covers(shape.buffer(1e-3), discs).all()
    strips = shapely.polygons(channels_mm(pack, interconnect.strips, cell_block.outline))
    assert shapely.distance(shapely.points(posts)[:, None], strips).min() >= 5.5 - 1e-9


@pytest.mark.parametrize("name", PACKS)
def test_box_and_discs_belong_to_cells_and_posts(name: str, cores: Cores) -> None:
    """First a disc for each cell, then one for each post; the box is the outline's."""
    pack, cell_layout, _, cell_block = cores[name]
    cells = len(cell_layout.xy_mm)
    discs = np.asarray(cell_block.outline.discs)
    assert len(discs) == cells + len(cell_block.posts)
    assert discs[:cells, :2] == pytest.approx(cell_layout.xy_mm)
    assert set(discs[:cells, 2]) == {pack.pocket_mm / 2 + pack.holder.wall_mm}
    assert [tuple(disc[:2]) for disc in discs[cells:]] == [
        (p.x_mm, p.y_mm) for p in cell_block.posts
    ]
    assert cell_block.box_mm == outline_box_mm(cell_block.outline)


@pytest.mark.parametrize("name", PACKS)
def test_bosses_stand_free_and_leave_the_run_outs_open(name: str, cores: Cores) -> None:
    """A boss of radius 4.5 stands 0.3 off the outline, clear of strips and of other bosses."""
    pack, _, interconnect, cell_block = cores[name]
    shape = shapely.Polygon(outline_points_mm(cell_block.outline, 0.005))
    places = np.array([(seat.x_mm, seat.y_mm) for seat in cell_block.boss_seats])
    assert len(places) >= 2
    assert pdist(places).min() >= 14.0 - 1e-9
    assert shapely.distance(shapely.points(places), shape) == pytest.approx(BALL_MM, abs=1e-3)
    strips = shapely.union_all(
        shapely.polygons(channels_mm(pack, interconnect.strips, cell_block.outline))
    )
    assert shapely.distance(shapely.points(places), strips).min() >= BOSS_RADIUS_MM + 1.4


@pytest.mark.parametrize("name", ["7S3P", "10S4P", "4S6P grid", "tiles", "tiles grid", "1S7P"])
def test_lid_screws_are_close_enough_round_the_rim(name: str, cores: Cores) -> None:
    """From one corner of the compartment around the cell block no step is over 70 mm."""
    pack, _, _, cell_block = cores[name]
    rooms = room_corners_mm(pack, cell_block.outline)
    places = [(seat.x_mm, seat.y_mm) for seat in cell_block.boss_seats]
    assert longest_step_mm(np.array([rooms[0], *places, rooms[1]])) <= LID_STEP_MM + 1e-9


def test_honeycomb_posts_stand_in_notches_and_cost_no_room(cores: Cores) -> None:
    """On 10S4P every post lies within the box of the cells alone."""
    pack, cell_layout, _, cell_block = cores["10S4P"]
    radius = pack.pocket_mm / 2 + pack.holder.wall_mm
    low, high = cell_layout.xy_mm.min(axis=0) - radius, cell_layout.xy_mm.max(axis=0) + radius
    assert cell_block.box_mm == pytest.approx((*low, *high))


def test_grid_posts_stand_amid_four_cells(cores: Cores) -> None:
    """On a grid the four-cell gaps carry the posts, one pitch / sqrt 2 from four cells."""
    pack, cell_layout, _, cell_block = cores["4S6P grid"]
    for post in cell_block.posts:
        away = np.hypot(*(cell_layout.xy_mm - (post.x_mm, post.y_mm)).T)
        assert np.sort(away)[:4] == pytest.approx([pack.pitch_mm / math.sqrt(2)] * 4)


def test_one_cell_has_posts_at_its_diagonals(cores: Cores) -> None:
    """1S1P: four posts, one a quarter, clear of both leads on +x."""
    _, _, _, cell_block = cores["1S1P"]
    quarters = {(post.x_mm > 0, post.y_mm > 0) for post in cell_block.posts}
    assert len(cell_block.posts) == len(quarters) == 4


def test_every_tile_of_a_grid_has_two_posts(cores: Cores) -> None:
    """Tiles with gaps get at least two posts each, and none crosses a seam."""
    for name in ("tiles", "tiles grid"):
        _, cell_layout, _, cell_block = cores[name]
        assert posts_of_tiles(cell_layout, cell_block.posts).min() >= 2
        assert cell_block.notes == ()
        xy = np.array([(post.x_mm, post.y_mm) for post in cell_block.posts])
        away = np.hypot(*(xy[:, None] - cell_layout.xy_mm[None]).transpose(2, 0, 1))
        for tile in range(int(cell_layout.tile.max()) + 1):
            mine = away[:, cell_layout.tile == tile].min(axis=1)
            others = away[:, cell_layout.tile != tile].min(axis=1)
            # the seam is the line of equal distance: a post of radius 4 lies on one side of it
            assert (np.abs(mine - others) > 1.0).all()


def test_a_tile_without_gaps_is_told() -> None:
    """The middle tile of a honeycomb offers no gap: a note says so, the others have theirs."""
    pack = sample_pack(9, 9, format="18650")
    cell_layout = laid(pack)
    column, row = cell_layout.sites[:, 0] // 6, cell_layout.sites[:, 1] // 3
    cell_layout = replace(cell_layout, tile=3 * row + np.minimum(column, 2))
    cell_block = fasten(pack, cell_layout, join(pack, cell_layout))
    assert posts_of_tiles(cell_layout, cell_block.posts)[4] == 0
    assert len(cell_block.notes) == 1
    assert cell_block.notes[0].startswith("holder tile 5: 0 posts, no gap")


def test_posts_keep_off_a_barrier(cores: Cores) -> None:
    """On a folded pack no post stands in the line between both sides of the fold."""
    pack, cell_layout, _, cell_block = cores["fold"]
    seam = cell_layout.seams[0]
    middles = cell_layout.xy_mm[seam.pairs].mean(axis=1)
    posts = np.array([(post.x_mm, post.y_mm) for post in cell_block.posts])
    assert np.abs(posts[:, 1] - middles[:, 1].mean()).min() > pack.pitch_mm / 4


@pytest.mark.parametrize("name", PACKS)
def test_saddles_are_plain_plastic(name: str, cores: Cores) -> None:
    """A pad of radius 2 covers no pocket, no channel of its faces, and lies in the outline."""
    pack, cell_layout, interconnect, cell_block = cores[name]
    inside = shapely.Polygon(outline_points_mm(cell_block.outline, 0.01))
    for places, faces in (
        (cell_block.saddles, set(Face)),
        (cell_block.saddles_lower, {Face.LOWER}),
        (cell_block.saddles_upper, {Face.UPPER}),
    ):
        if not len(places):
            continue
        pads = shapely.buffer(shapely.points(places), SADDLE_PAD_RADIUS_MM)
        pockets = shapely.buffer(shapely.points(cell_layout.xy_mm), pack.pocket_mm / 2)
        quads = channels_mm(
            pack, (s for s in interconnect.strips if s.face in faces), cell_block.outline
        )
        taken = shapely.union_all([*pockets, *shapely.polygons(quads)])
        assert not shapely.intersects(pads, taken).any()
        assert shapely.covers(inside, pads).all()
    assert len(cell_block.saddles) or name != "4S6P grid"


def test_same_pack_gives_the_same_core() -> None:
    """Twice the same, to the last bit."""
    pack, ways = PACKS["tiles"]
    cell_layout = laid(pack, **ways)  # type: ignore[arg-type]
    interconnect = join(pack, cell_layout)
    one, two = fasten(pack, cell_layout, interconnect), fasten(pack, cell_layout, interconnect)
    assert one.posts == two.posts
    assert one.outline == two.outline
    assert one.boss_seats == two.boss_seats


def broken(cell_block: CellBlock, *posts: Post) -> CellBlock:
    """The cell block with other posts."""
    return replace(cell_block, posts=posts)


@pytest.mark.parametrize(
    ("fails", "shift"), [("post_clearance", (0.0, -1.0)), ("post_channel", (0.0, -7.5))]
)
def test_a_post_moved_into_the_cells_fails(
    fails: str, shift: tuple[float, float], cores: Cores
) -> None:
    """Clearance and channel checks fail where a post is pushed towards its cells."""
    pack, cell_layout, interconnect, _ = cores["1S2P"]
    high = math.sqrt(post_reach_mm(pack) ** 2 - (pack.pitch_mm / 2) ** 2)
    fitting = Post(x_mm=0.0, y_mm=high + 1.5, radius_mm=4.0)
    moved = replace(fitting, y_mm=fitting.y_mm - 1.5 + shift[1])
    cell_block = cores["1S2P"][3]
    good = fastening_checks(
        pack, cell_layout, interconnect, broken(cell_block, fitting, fitting, fitting)
    )
    assert all(check.holds for check in good)
    bad = fastening_checks(pack, cell_layout, interconnect, broken(cell_block, moved, moved, moved))
    assert fails in {check.id for check in bad if not check.holds}
    assert all(check.remedy for check in bad if not check.holds)


def test_missing_posts_fail(cores: Cores) -> None:
    """Two posts are too few for forty cells and stand too far apart; none at all fails, too."""
    pack, cell_layout, interconnect, cell_block = cores["10S4P"]
    few = fastening_checks(
        pack,
        cell_layout,
        interconnect,
        broken(cell_block, cell_block.posts[0], cell_block.posts[-1]),
    )
    assert {check.id for check in few if not check.holds} == {"tie_posts", "post_spacing"}
    assert all(check.remedy for check in few if not check.holds)
    one = fastening_checks(pack, cell_layout, interconnect, broken(cell_block, cell_block.posts[0]))
    (spacing,) = [check for check in one if check.id == "post_spacing"]
    rim = pack.pocket_mm / 2 + pack.holder.wall_mm
    longest = float(np.ptp(cell_layout.xy_mm, axis=0).max()) + 2 * rim
    assert not spacing.holds and spacing.value == pytest.approx(longest)
    none = fastening_checks(pack, cell_layout, interconnect, broken(cell_block))
    assert [(check.id, check.holds) for check in none] == [("tie_posts", False)]


def test_stones_are_few_and_even() -> None:
    """From 0 to 100 in steps of at most 40, the evenest two of eleven places are taken."""
    places = np.column_stack([np.arange(0.0, 101.0, 10.0), np.zeros(11)])
    stones = stepping_stones(
        np.array([0.0, 0.0]),
        np.array([100.0, 0.0]),
        places,
        [0.0] * 11,
        limit_mm=40.0,
        apart_mm=5.0,
    )
    assert len(stones) == 2
    assert longest_step_mm(np.vstack([[0, 0], places[list(stones)], [100, 0]])) <= 40.0


def test_stones_widen_where_no_way_keeps_the_limit() -> None:
    """With one place only the steps are longer than asked for, but the place is used."""
    stones = stepping_stones(
        np.array([0.0, 0.0]),
        np.array([100.0, 0.0]),
        np.array([[50.0, 0.0]]),
        [0.0],
        limit_mm=30.0,
        apart_mm=5.0,
    )
    assert stones == (0,)
    assert longest_step_mm(np.zeros((1, 2))) == 0.0


@pytest.mark.parametrize(
    ("format", "length"), [("18650", 65.0), ("21700", 70.0), ("26650", 65.0), ("32700", 70.0)]
)
def test_tie_screw_stays_inside_both_faces(format: str, length: float) -> None:
    """Head below the upper face, tip above the lower one, the nut's thread fully used."""
    pack = sample_pack(2, 2, format=format)
    screw = tie_screw(pack)
    assert screw.length_mm == length
    total = pack.lip_to_lip_mm + 2 * pack.holder.lip_mm
    assert screw.head_recess_mm >= 3.0 + 0.2 - 1e-9  # ISO 4762 M3: head 3.0 high
    tip = total - screw.head_recess_mm - screw.length_mm
    assert abs(tip - 0.3) <= pack.printer.layer_mm / 2 + 1e-9  # recesses are whole layers
    assert screw.nut_recess_mm - 2.4 >= tip  # ISO 4032 M3: nut 2.4 high
    # ISO 273 M3 medium 3.4; ISO 4762 M3 knurled head 5.68; ISO 4032 M3 5.5 across flats
    assert (screw.hole_diameter_mm, screw.head_hole_diameter_mm, screw.nut_flats_mm) == (
        3.4,
        6.0,
        5.7,
    )


def test_a_stack_too_short_for_a_screw_is_refused() -> None:
    """A can of 2 mm leaves no space for head and nut: reported with the limit."""
    pack = sample_pack(1, 1)
    short = replace(pack, cell=replace(pack.cell, length_mm=2.0))
    with pytest.raises(PlanError, match="needs a stack of"):
        tie_screw(short)
