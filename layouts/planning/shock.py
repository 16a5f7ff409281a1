"""A shock on the mounted pack: what the frame's half sine does to it, by its natural frequency."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from layouts.brackets.frequency import natural_frequencies_hz
from layouts.brackets.inserts import insert_pull
from layouts.brackets.sheet_strength import SHEET_STRESS
from layouts.brackets.shock import DAMPING, MOST_FACTOR, half_sine_factor
from layouts.brackets.strength import SAFETY
from layouts.checks import Check
from layouts.enclosures.pad_walls import wall_bending
from layouts.pack import Load, MountShock
from layouts.planning.held import held_frequencies_hz, shock_uses
from layouts.planning.steps import OutsidePlan

__all__ = ["MountedShock", "mounted_shock", "shock_checks"]

SHOCK_SAFETY = 2.0  # once in a while, short: half of what jolts are given; common practice
LEAST_HZ = 25.0  # slower packs swing with the machine's own springs and wheels; common practice


@dataclass(frozen=True, kw_only=True, slots=True)
class MountedShock:
    """``frequencies_hz``: of the pack on its brackets, lowest first, empty where their stiffness is
    not known; ``factor``: the greatest of them by the response spectrum; ``felt_g``: static
    equivalent of the shock."""

    frequencies_hz: tuple[float, ...]
    factor: float
    felt_g: float


def mounted_shock(plan: OutsidePlan, shock: MountShock, *, mass_kg: float) -> MountedShock:
    """The frequency that answers most decides; without frequencies the spectrum's peak does."""
    found = _frequencies_hz(plan, mass_kg=mass_kg)
    factors = [half_sine_factor(one * shock.ms / 1000.0) for one in found if one > 0.0]
    factor = max(factors, default=MOST_FACTOR)
    return MountedShock(frequencies_hz=found, factor=factor, felt_g=factor * shock.g)


def _frequencies_hz(plan: OutsidePlan, *, mass_kg: float) -> tuple[float, ...]:
    if plan.pack.mount.frame:
        return held_frequencies_hz(plan, mass_kg=mass_kg)
    stiffness = plan.bracket.stiffness_n_mm(plan.pack)
    if stiffness is None:
        return ()
    shell = plan.enclosure.shell
    x0, y0, x1, y1 = shell.outer.bounds
    found = natural_frequencies_hz(
        plan.enclosure.pads,
        plan.bracket.hold,
        stiffness,
        mass_kg=mass_kg,
        centre_z_mm=plan.pack.lip_to_lip_mm / 2.0,
        size_mm=(x1 - x0, y1 - y0, shell.high_mm),
    )
    return tuple(float(one) for one in found)


def shock_checks(plan: OutsidePlan, *, mass_kg: float) -> tuple[Check, ...]:
    """Use of brackets, inserts and walls in the shock along each axis, and the lowest frequency.

    Nothing where no shock is asked, or there are no brackets."""
    shock = plan.pack.mount.shock
    if shock is None or not plan.enclosure.pads:
        return ()
    felt = mounted_shock(plan, shock, mass_kg=mass_kg)
    use, where = max(_uses(plan, felt.felt_g, mass_kg=mass_kg), default=(0.0, ""))
    how = (
        "of unknown frequency" if not felt.frequencies_hz else f"at {felt.frequencies_hz[0]:.0f} Hz"
    )
    used = Check(
        id="mount_shock",
        about=f"use of brackets, inserts and walls in a shock of {shock.g:g} g, {shock.ms:g} ms "
        f"along each axis: the pack {how} and above feels {felt.felt_g:.1f} g",
        holds=use <= 1.0,
        value=use,
        limit=1.0,
        unit="",
        source=f"half-sine response spectrum, {DAMPING:.0%} damping; strength divided by "
        f"{SHOCK_SAFETY:g}, common practice, no source",
        remedy="wider spacing of mount.holes_mm, a stronger printer.material, metal brackets, or "
        "rubber between machine and pack",
        at_least=False,
        where=where,
    )
    return (used, *_frequency_check(felt))


def _frequency_check(felt: MountedShock) -> Iterator[Check]:
    if not felt.frequencies_hz:
        return
    lowest = felt.frequencies_hz[0]
    yield Check(
        id="mount_frequency",
        about="lowest natural frequency of the pack on its brackets, frame and enclosure stiff",
        holds=lowest >= LEAST_HZ,
        value=lowest,
        limit=LEAST_HZ,
        unit="Hz",
        source="beam formulas, generalised eigenvalues; limit common practice, no source",
        remedy="more or stiffer brackets, or the tub supported from below as well",
        where="brackets",
    )


def _uses(plan: OutsidePlan, felt_g: float, *, mass_kg: float) -> Iterator[tuple[float, str]]:
    """(share of what is allowed at the shock's safety, check and place) of each part and axis."""
    if plan.pack.mount.frame:
        for use, where in shock_uses(plan, felt_g, mass_kg=mass_kg):
            yield use * SHOCK_SAFETY / SAFETY, where
        return
    for axis in range(3):
        g = tuple(felt_g if k == axis else 0.0 for k in range(3))
        load = replace(plan.pack.load or Load(), acceleration_g=(g[0], g[1], g[2]))
        pack, pads, hold = (
            replace(plan.pack, load=load), plan.enclosure.pads, plan.bracket.hold,
        )  # fmt: skip
        walls = plan.enclosure.pad_walls
        yield from _shares(plan.bracket.checks(pack, pads, mass_kg=mass_kg), power=1.0)
        yield from _shares(insert_pull(pack, pads, hold, mass_kg=mass_kg), power=2.0)
        yield from _shares(wall_bending(pack, walls, hold, mass_kg=mass_kg), power=1.0)


def _shares(checks: Sequence[Check], *, power: float) -> Iterator[tuple[float, str]]:
    """Of checks at the full safety; ``power``: of the force that their figure grows with.

    Metal, whose safety is small, keeps all of it in a shock; whether sheet can be bent is not
    asked again."""
    for check in checks:
        if check.value is not None and check.limit and not check.at_least:
            share = (check.value / check.limit) ** (1.0 / power)
            of_metal = check.id == SHEET_STRESS
            yield share if of_metal else share * SHOCK_SAFETY / SAFETY, check.id
