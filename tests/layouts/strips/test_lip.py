"""The lip that channels leave: formulas against worked tables, and each check failing."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layouts.pack import Face, Lattice, Pack
from layouts.strips.joining import Interconnect
from layouts.strips.laying import join
from layouts.strips.lip import (
    LipState,
    channels_at,
    free_arcs,
    lip_state,
    seat_checks,
)
from layouts.strips.lip_checks import lip_checks, lip_states
from tests.layouts.hand_made import in_rows
from tests.samples import sample_pack

# Worked out once with an independent script on arcs of its own; can, pocket, length
SIZES = {"21700": (21.30, 21.55, 70.6), "18650": (18.45, 18.70, 65.3)}
FULL_ROW = (0, 180)


def state_of(
    size: str,
    rows: tuple[int, ...],
    links: tuple[int, ...],
    widths: tuple[float, float, float],
    lip_mm: float = 1.2,
) -> LipState:
    """The lip at one can: row and link directions, (row, link, play) widths."""
    can, pocket, length = SIZES[size]
    row, link, play = widths
    angle = np.array([[*rows, *links]], dtype=float)
    half = np.array([[(row + play) / 2] * len(rows) + [(link + play) / 2] * len(links)])
    return lip_state(
        angle, half, can_mm=can, pocket_mm=pocket, depth_mm=10.0, length_mm=length, lip_mm=lip_mm
    )


def arcs_of(
    size: str, rows: tuple[int, ...], links: tuple[int, ...], widths: tuple[float, float, float]
) -> list[int]:
    """Rounded single arcs at the rim, largest first."""
    row, link, play = widths
    angle = np.array([[*rows, *links]], dtype=float)
    half = np.array([[(row + play) / 2] * len(rows) + [(link + play) / 2] * len(links)])
    _, length = free_arcs(angle, half, SIZES[size][0] / 2 - 0.5)
    return sorted((round(a) for a in length[0] if a > 0), reverse=True)


NARROW, WIDE, EIGHT = (6, 8, 0.5), (10, 10, 0.8), (8, 8, 0.5)


@pytest.mark.parametrize(
    ("size", "rows", "links", "widths", "rim", "arcs", "gap", "force"),
    [
        # worked table of the holder's end, 21700: rim degrees (single arcs), gap, force
        ("21700", FULL_ROW, (), WIDE, 231, (116, 116), 64, 192),
        ("21700", FULL_ROW, (60,), WIDE, 171, (116, 56), 124, 144),
        ("21700", FULL_ROW, (60, 120), WIDE, 116, (116,), 244, 96),
        ("21700", FULL_ROW, (60, 240), WIDE, 111, (56, 56), 124, 96),
        ("21700", (0,), (60, 120), WIDE, 176, (176,), 184, None),
        ("21700", FULL_ROW, (60, 120, 240), WIDE, 56, (56,), 304, 48),
        ("21700", FULL_ROW, (90,), WIDE, 167, (116, 26, 26), 64, None),
        ("21700", FULL_ROW, (90, 270), WIDE, 103, (26, 26, 26, 26), 64, 96),
        ("21700", FULL_ROW, (), NARROW, 285, (143, 143), 37, None),
        ("21700", FULL_ROW, (60,), NARROW, 236, (143, 77, 17), 50, 195),
        ("21700", FULL_ROW, (60, 120), NARROW, 186, (143, 17, 17, 10), 50, 158),
        ("21700", FULL_ROW, (60, 240), NARROW, 186, (77, 77, 17, 17), None, None),
        ("21700", FULL_ROW, (60, 120, 240), NARROW, 137, (77, 17, 17, 17, 10), 50, 121),
        ("21700", FULL_ROW, (60, 120, 240, 300), NARROW, 87, (17, 17, 17, 17, 10, 10), None, 83),
        ("21700", FULL_ROW, (60, 120, 240, 300), EIGHT, 63, (10,) * 6, None, 65),
        # the same, 18650
        ("18650", FULL_ROW, (60,), (6, 6, 0.5), 229, (136, 76, 16), 44, 166),
        ("18650", FULL_ROW, (60, 120), (6, 6, 0.5), 185, (136, 16, 16, 16), 44, 137),
        ("18650", FULL_ROW, (60, 120, 240), (6, 6, 0.5), 141, (76, 16, 16, 16, 16), 44, 109),
        ("18650", FULL_ROW, (60, 120, 240, 300), (6, 6, 0.5), 98, (16,) * 6, None, 81),
        ("18650", FULL_ROW, (60, 120, 240), (8, 8, 0.8), 59, (59,), 301, 44),
        ("18650", FULL_ROW, (90, 270), (8, 8, 0.8), 118, (29,) * 4, 61, 94),
    ],
)
def test_lip_left_is_the_tabled_one(
    size: str,
    rows: tuple[int, ...],
    links: tuple[int, ...],
    widths: tuple[float, float, float],
    rim: int,
    arcs: tuple[int, ...],
    gap: int | None,
    force: int | None,
) -> None:
    """Degrees, single arcs, gap and force agree with the worked table to its last digit."""
    state = state_of(size, rows, links, widths)
    assert state.rim_deg[0] == pytest.approx(rim, abs=0.55)  # the table rounds to 1
    assert arcs_of(size, rows, links, widths) == list(arcs)
    if gap is not None:
        assert state.gap_deg[0] == pytest.approx(gap, abs=0.55)
    if force is not None:
        assert state.force_n[0] == pytest.approx(force, abs=1.0)


def test_drop_on_the_open_side_is_the_tabled_one() -> None:
    """A one-sided lip lets the can's edge dip; both holders on, almost not."""
    # worked table, 21700 with 10/10 + 0.8: row + 2 diagonals 0.41/0.06, + 3 diagonals 0.50/0.07
    two = state_of("21700", FULL_ROW, (60, 120), WIDE)
    three = state_of("21700", FULL_ROW, (60, 120, 240), WIDE)
    assert two.drop_one_mm[0] == pytest.approx(0.41, abs=0.005)
    assert two.drop_both_mm[0] == pytest.approx(0.06, abs=0.005)
    assert three.drop_one_mm[0] == pytest.approx(0.50, abs=0.005)
    assert three.drop_both_mm[0] == pytest.approx(0.07, abs=0.005)
    assert state_of("21700", FULL_ROW, (60,), WIDE).drop_one_mm[0] == 0


def test_wide_channels_all_round_let_the_can_pass() -> None:
    """Six wide channels leave nothing: no tab, no force, gap of the whole circle."""
    state = state_of("21700", FULL_ROW, (60, 120, 240, 300), WIDE)
    assert (state.rim_deg[0], state.tabs[0], state.force_n[0], state.gap_deg[0]) == (0, 0, 0, 360)
    assert not state.holds[0]


def test_a_can_without_channels_keeps_its_whole_lip() -> None:
    """No channel: 360 degrees, one tab, no gap; absent channels (half width 0) change nothing."""
    none = lip_state(
        np.zeros((2, 0)),
        np.zeros((2, 0)),
        can_mm=21.3,
        pocket_mm=21.55,
        depth_mm=10,
        length_mm=70.3,
        lip_mm=1.6,
    )
    padded = lip_state(
        np.zeros((2, 3)),
        np.zeros((2, 3)),
        can_mm=21.3,
        pocket_mm=21.55,
        depth_mm=10,
        length_mm=70.3,
        lip_mm=1.6,
    )
    for state in (none, padded):
        assert state.rim_deg.tolist() == [360, 360]
        assert state.tabs.tolist() == [1, 1]
        assert state.gap_deg.tolist() == [0, 0]


def test_force_goes_with_the_lip_squared() -> None:
    """1.6 behind a negative end withstands (1.6/1.2)² of what 1.2 does."""
    # worked table: 215 N at 1.6 for 21700, row + 3 diagonals
    thin = state_of("21700", FULL_ROW, (60, 120, 240), NARROW, 1.2).force_n[0]
    full = state_of("21700", FULL_ROW, (60, 120, 240), NARROW, 1.6).force_n[0]
    assert full / thin == pytest.approx((1.6 / 1.2) ** 2)
    assert full == pytest.approx(215, abs=1)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 360), st.floats(0, 12)), max_size=7),
    st.floats(8, 12),
)
def test_free_arcs_are_what_no_channel_covers(
    channels: list[tuple[float, float]], radius: float
) -> None:
    """Sampled points of the circle lie in an arc exactly where no channel covers them."""
    angle = np.array([[a for a, _ in channels]]).reshape(1, -1)
    half = np.array([[h for _, h in channels]]).reshape(1, -1)
    start, length = free_arcs(angle, half, radius)
    at = np.linspace(0, 360, 721)[:-1] + 0.123456
    covered = np.zeros(len(at), dtype=bool)
    close = np.zeros(len(at), dtype=bool)
    for a, h in channels:
        if h > 0:
            off = np.abs((at - a + 180) % 360 - 180)
            wide = np.degrees(np.arcsin(min(1, h / radius)))
            covered |= off < wide
            close |= np.abs(off - wide) < 1e-5
    inside = np.zeros(len(at), dtype=bool)
    for s, long in zip(start[0], length[0], strict=True):
        inside |= (at - s) % 360 < long
    assert (inside != covered)[~close].all()
    assert length.sum() <= 360 + 1e-9


def pack_with(widths: tuple[float, float], play: float = 0.5, **strip: object) -> Pack:
    """21700, honeycomb, 4S4P with other strip widths."""
    base = sample_pack(4, 4)
    return dataclasses.replace(
        base,
        strip=dataclasses.replace(
            base.strip, row_width_mm=widths[0], link_width_mm=widths[1], **strip
        ),
        holder=dataclasses.replace(base.holder, channel_play_mm=play),
    )


def widened(interconnect: Interconnect, width_mm: float) -> Interconnect:
    """The same strips, all of one width: as laid without regard to the lip."""
    return dataclasses.replace(
        interconnect,
        strips=tuple(dataclasses.replace(s, width_mm=width_mm) for s in interconnect.strips),
    )


def test_default_strips_keep_the_lip_and_the_states_tell_each_end() -> None:
    """21700 at its defaults: all three checks hold; an inner end has the tabled arcs."""
    pack = sample_pack(10, 4)
    cell_layout = in_rows(pack)
    interconnect = join(pack, cell_layout)
    checks = {c.id: c for c in lip_checks(pack, cell_layout, interconnect)}
    assert set(checks) == {"lip_force_n", "lip_rim_deg", "lip_gap_deg"}
    assert all(c.holds for c in checks.values())
    # worked table: row + 2 diagonals on one side, 158 N at the weakest positive end, 186 degrees
    assert checks["lip_force_n"].value == pytest.approx(158, abs=1)
    assert checks["lip_rim_deg"].value == pytest.approx(186, abs=0.5)
    states = lip_states(pack, cell_layout, interconnect)
    assert states[Face.UPPER].rim_deg.min() == pytest.approx(186, abs=0.5)


def test_gap_check_fails_for_wide_strips_with_two_slants() -> None:
    """10/10 + 0.8 on a honeycomb with two diagonals: one arc only, a half circle without lip."""
    pack = pack_with((6, 8), play=0.8)
    cell_layout = in_rows(pack)
    checks = {
        c.id: c for c in lip_checks(pack, cell_layout, widened(join(pack, cell_layout), 10.0))
    }
    assert not checks["lip_gap_deg"].holds
    assert checks["lip_gap_deg"].value == pytest.approx(244, abs=0.6)  # worked table
    assert "both holders are fitted" in checks["lip_gap_deg"].remedy  # the rest still holds the can
    assert checks["lip_force_n"].holds


def test_force_check_fails_for_wide_strips_with_three_slants() -> None:
    """Row + 3 diagonals at 10/10 + 0.8 withstands 48 N; then the remedy promises nothing."""
    base = sample_pack(2, 8)
    pack = dataclasses.replace(base, holder=dataclasses.replace(base.holder, channel_play_mm=0.8))
    cell_layout = in_rows(pack, 2)
    checks = {
        c.id: c for c in lip_checks(pack, cell_layout, widened(join(pack, cell_layout), 10.0))
    }
    assert not checks["lip_force_n"].holds
    assert checks["lip_force_n"].value < 60
    assert "both holders are fitted" not in checks["lip_gap_deg"].remedy


def test_rim_check_fails_when_the_can_passes() -> None:
    """Strips as wide as the window leave no tab at an inner cell."""
    pack = pack_with((6, 8))
    cell_layout = in_rows(pack)
    checks = {
        c.id: c for c in lip_checks(pack, cell_layout, widened(join(pack, cell_layout), 15.0))
    }
    assert not checks["lip_rim_deg"].holds
    assert checks["lip_rim_deg"].value < 45


def test_a_strip_end_within_the_window_cuts_no_lip() -> None:
    """Only the side on which a strip goes on counts as a channel."""
    pack = sample_pack(2, 3)
    cell_layout = in_rows(pack)
    rows = tuple(
        s for s in join(pack, cell_layout).strips if s.face is Face.UPPER and s.kind.value == "row"
    )
    alone = Interconnect(
        strips=rows, minus_face=Face.LOWER, plus_face=Face.LOWER, stack_mm=np.zeros((2, 6))
    )
    _, half = channels_at(pack, cell_layout, alone, Face.UPPER)
    assert (half > 0).sum(axis=1).tolist() == [1, 2, 1, 1, 2, 1]


def test_seats_hold_at_the_defaults() -> None:
    """Strips lie on the cans, no floor is proud, stacks stay below the outer face."""
    for lattice in Lattice:
        pack = sample_pack(4, 5, lattice=lattice)
        cell_layout = in_rows(pack)
        checks = {c.id: c for c in seat_checks(pack, cell_layout, join(pack, cell_layout))}
        assert set(checks) == {"strip_seat_mm", "strip_proud_mm", "strip_stack_mm"}
        assert all(c.holds for c in checks.values())
        assert checks["strip_seat_mm"].value == pytest.approx(0.4)
        # 0.4 less 0.2 of play between the lips and 0.1 that the ring lies deeper
        assert checks["strip_proud_mm"].value == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("change", "failing", "value"),
    [
        ({"web_recess_mm": 0.1}, {"strip_seat_mm", "strip_proud_mm"}, 0.1),
        ({"web_recess_mm": 0.0}, {"strip_seat_mm", "strip_proud_mm"}, 0.0),
        ({"web_recess_mm": 0.8}, {"strip_seat_mm"}, 0.9),
        ({"ring_mm": 0.7}, {"strip_seat_mm"}, 0.1),  # ring thicker than its seat: can stands off
        ({"ring_mm": 0.0}, {"strip_seat_mm", "strip_proud_mm"}, 0.8),
    ],
)
def test_seat_checks_fail_where_strips_would_not_lie_on_the_cans(
    change: dict[str, float], failing: set[str], value: float
) -> None:
    """A floor proud of the can, or too far behind it, on plain or ring ends, is told."""
    base = sample_pack(4, 4)
    pack = dataclasses.replace(base, holder=dataclasses.replace(base.holder, **change))
    cell_layout = in_rows(pack)
    checks = {c.id: c for c in seat_checks(pack, cell_layout, join(pack, cell_layout))}
    assert {i for i, c in checks.items() if not c.holds} == failing
    assert checks["strip_seat_mm"].value == pytest.approx(value)


def test_stack_check_fails_for_a_stack_too_high() -> None:
    """Three strips of five layers crossing at a cell stand proud of the outer face."""
    pack = sample_pack(4, 4)
    cell_layout = in_rows(pack)
    interconnect = join(pack, cell_layout)
    high = dataclasses.replace(interconnect, stack_mm=interconnect.stack_mm * 5)
    check = {c.id: c for c in seat_checks(pack, cell_layout, high)}["strip_stack_mm"]
    assert not check.holds
    assert check.value == pytest.approx(1.6 - 0.3 - 3.0)
