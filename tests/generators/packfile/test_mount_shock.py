"""``mount.shock`` from the pack file: the checks that it adds, and each fault."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from generators.packfile.resolve import parse_pack
from layouts.brackets.shock import half_sine_factor
from layouts.checks import Check
from layouts.pack import MountShock
from layouts.planning.mounting import mounting_checks
from layouts.planning.shock import mounted_shock
from layouts.planning.steps import (
    OutsidePlan,
    bracketed,
    enclosed,
    fastened,
    interconnected,
    laid_out,
)
from tests.generators.packfile.files import added

TEXT = """name: barrow-light
cell: {format: "18650", capacity_ah: 2.5, continuous_a: 8, internal_resistance_mohm: 25, mass_g: 47}
series: 3
parallel: 2
"""


@cache
def planned(kind: str) -> OutsidePlan:
    """Up to the brackets, with a shock in the file."""
    more = f"load: {{continuous_a: 4}}\nmount: {{kind: {kind}, shock: {{g: 10, ms: 11}}}}\n"
    pack = parse_pack((TEXT + more).encode(), "x.yaml").pack
    return bracketed(enclosed(fastened(interconnected(laid_out(pack)))))


def shocked(g: float, ms: float, *, kind: str = "angle", mass_kg: float = 0.8) -> dict[str, Check]:
    """Checks of what carries the pack, at another shock."""
    plan = planned(kind)
    mount = replace(plan.pack.mount, shock=MountShock(g=g, ms=ms))
    plan = replace(plan, pack=replace(plan.pack, mount=mount))
    return {one.id: one for one in mounting_checks(plan, mass_kg=mass_kg)}


@pytest.mark.parametrize("kind", ["angle", pytest.param("flat", marks=pytest.mark.slow)])
def test_a_shock_is_held_against_half_of_the_strength(kind: str) -> None:
    """That of the file holds; use grows with its peak, and a great one fails."""
    small, great = shocked(10.0, 11.0, kind=kind), shocked(200.0, 11.0, kind=kind)
    assert small["mount_shock"].holds and small["mount_frequency"].holds
    a, b = small["mount_shock"].value, great["mount_shock"].value
    assert a is not None and b == pytest.approx(20.0 * a)
    assert not great["mount_shock"].holds


def test_what_the_pack_feels_follows_its_frequency() -> None:
    """The greatest factor of all six; a heavy pack is slower, and below 25 Hz it fails."""
    plan = planned("angle")
    shock = plan.pack.mount.shock
    assert shock is not None
    felt = mounted_shock(plan, shock, mass_kg=0.8)
    assert len(felt.frequencies_hz) == 6 and min(felt.frequencies_hz) > 25.0
    factors = [half_sine_factor(hz * 0.011) for hz in felt.frequencies_hz]
    assert felt.felt_g == pytest.approx(10.0 * max(factors))
    assert not shocked(10.0, 11.0, mass_kg=80.0)["mount_frequency"].holds


def test_one_axis_at_a_time_is_less_than_jolts_of_all() -> None:
    """A push of 4 g that lasts a second is no more than 4, 4 and 6 g at once, at half safety."""
    found = shocked(4.0, 1000.0)
    uses = [
        (check.value or 0.0) / check.limit
        for check in found.values()
        if check.limit and check.unit == "MPa"
    ]
    insert = found["insert_pull"].value
    use = found["mount_shock"].value
    assert insert is not None and use is not None
    assert 0.1 * max(uses) < use <= 0.5 * max(*uses, insert**0.5) * 1.05  # not quite still: 1.05


def test_without_the_key_nothing_is_added() -> None:
    """Neither check; without a load the shock alone is checked."""
    plan = planned("angle")
    bare = replace(plan.pack, mount=replace(plan.pack.mount, shock=None))
    found = {one.id for one in mounting_checks(replace(plan, pack=bare), mass_kg=0.8)}
    assert found and not {"mount_shock", "mount_frequency"} & found
    idle = replace(plan, pack=replace(plan.pack, load=None))
    alone = {one.id for one in mounting_checks(idle, mass_kg=0.8)}
    assert alone == {"mount_shock", "mount_frequency"}


@pytest.mark.parametrize(
    ("shock", "told"),
    [
        ("{g: -1, ms: 11}", "mount.shock.g: must be more than 0 (-1)"),
        ("{g: 10, ms: 0}", "mount.shock.ms: must be more than 0 (0)"),
        ("{g: 10}", "mount.shock.ms: is missing"),
        ("10", "mount.shock: must be a section of keys"),
    ],
)
def test_faults_name_line_key_and_way_out(shock: str, told: str) -> None:
    """One each."""
    (line,) = added(f"mount: {{shock: {shock}}}\n")
    assert line.startswith("p.yaml:5: ") and told in line
