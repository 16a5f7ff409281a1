"""Two small packs in the fitted enclosure, from the text of their pack files; planned once."""

from __future__ import annotations

from functools import cache

from generators.packfile.resolve import parse_pack
from layouts.checks import Check
from layouts.enclosures.fitted.checks import fitted_checks
from layouts.enclosures.fitted.design import design_fitted
from layouts.enclosures.fitted.form import FittedEnclosure
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.pack import Pack
from layouts.planning.pack_plan import PackPlan, plan_pack

__all__ = ["NAMES", "designed", "judged", "pack_of", "planned", "sizes_of"]

_TEXTS = {
    "4S3P": "cell: {format: '18650'}\nseries: 4\nparallel: 3\nlattice: honeycomb\n",
    "3S2P": "cell: {format: '21700'}\nseries: 3\nparallel: 2\nlattice: grid\n",
}
NAMES = tuple(_TEXTS)


def pack_of(name: str, more: str = "", *, enclosure: str = "") -> Pack:
    """One of ``NAMES``. ``more``: further lines; ``enclosure``: further keys of that section."""
    text = f"name: {name}\nload: {{continuous_a: 2}}\n{_TEXTS[name]}"
    text += f"enclosure: {{style: fitted, {enclosure}}}\n{more}"
    return parse_pack(text.encode(), "p.yaml").pack


@cache
def planned(name: str) -> PackPlan:
    """A pack without a space, planned."""
    return plan_pack(pack_of(name))


def sizes_of(name: str) -> FittedSizes:
    """What its enclosure is made from."""
    enclosure = planned(name).enclosure
    assert isinstance(enclosure, FittedEnclosure)
    return enclosure.sizes


def designed(name: str, pack: Pack) -> FittedSizes:
    """The enclosure of another pack file round the same held cells."""
    plan = planned(name)
    return design_fitted(pack, plan.cell_layout, plan.interconnect, plan.cell_block)


def judged(name: str, sizes: FittedSizes, pack: Pack | None = None) -> dict[str, Check]:
    """All checks of sizes round the held cells of a pack, by their ids."""
    plan = planned(name)
    checks = fitted_checks(
        pack or plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block, sizes
    )
    return {check.id: check for check in checks}
