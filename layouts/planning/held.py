"""How well a planned pack's brackets hold it: forces by their stiffness, limit loads, checks."""

from __future__ import annotations

from layouts.brackets.holding import FrameHold, HeldBody
from layouts.brackets.strength import strength_limit_mpa
from layouts.enclosures.pad_walls import lug_of
from layouts.formats import materials
from layouts.planning.steps import OutsidePlan

__all__ = ["body_of", "holds_of"]


def body_of(plan: OutsidePlan, *, mass_kg: float) -> HeldBody:
    """The pack in its own coordinates. It may be turned in its space: both level accelerations are
    taken along either axis, the greater where they differ. Without a load none acts."""
    pack, shell = plan.pack, plan.enclosure.shell
    x0, y0, x1, y1 = shell.outer.bounds
    g = (0.0, 0.0, 0.0) if pack.load is None else pack.load.acceleration_g
    level = max(abs(g[0]), abs(g[1]))
    return HeldBody(
        low_mm=(x0, y0, shell.z_under_mm), high_mm=(x1, y1, shell.z_lid_mm),
        centre_mm=(0.0, 0.0, pack.lip_to_lip_mm / 2.0), mass_kg=mass_kg,
        load_g=(level, level, abs(g[2])), faces=("+x", "-x", "+y", "-y"),
        limit_mpa=strength_limit_mpa(pack), screw=pack.mount.screw,
        modulus_mpa=materials()[pack.printer.material].modulus_mpa,
        layer_mm=pack.printer.layer_mm,
    )  # fmt: skip


def holds_of(plan: OutsidePlan, body: HeldBody) -> tuple[FrameHold, ...]:
    """Its brackets as the solver sees them; none where nothing is known of their strength."""
    walls = plan.enclosure.pad_walls
    lugs = [(wall.pad, lug_of(plan.pack, wall)) for wall in walls]
    return plan.bracket.holds(body, lugs)
