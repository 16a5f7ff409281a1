"""A small pack with a gasket, from the text of its pack file; planned once."""

from __future__ import annotations

from functools import cache

from generators.packfile.resolve import parse_pack
from layouts.checks import Check
from layouts.enclosures.fitted.form import FittedEnclosure
from layouts.enclosures.fitted.gasket import Flange
from layouts.enclosures.fitted.gasket_checks import gasket_checks
from layouts.enclosures.fitted.gasket_vent import VentPlace
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.pack import GasketSpec, Pack
from layouts.planning.steps import EnclosedPlan, enclosed, fastened, interconnected, laid_out

__all__ = [
    "enclosure_of", "flange_in", "gasket_in", "judged", "sealed_pack", "sealed_plan",
    "sealed_sizes", "vent_in",
]  # fmt: skip

GAS = {"gas_l": "3", "within_s": "2", "opens_at_kpa": "3"}


def sealed_pack(more: str = "", **gasket: str) -> Pack:
    """3S2P. ``gasket``: keys of that section at other values; ``more``: further lines."""
    keys = ", ".join(f"{key}: {value}" for key, value in (GAS | gasket).items())
    text = (
        "name: sealed\ncell: {format: '21700'}\nseries: 3\nparallel: 2\nlattice: grid\n"
        f"load: {{continuous_a: 2}}\nenclosure: {{style: fitted, gasket: {{{keys}}}}}\n{more}"
    )
    return parse_pack(text.encode(), "p.yaml").pack


@cache
def sealed_plan(pack: Pack | None = None) -> EnclosedPlan:
    """A pack, that one where none is given, with its enclosure."""
    return enclosed(fastened(interconnected(laid_out(pack or sealed_pack()))))


def enclosure_of(plan: EnclosedPlan) -> FittedEnclosure:
    """The enclosure of a plan."""
    assert isinstance(plan.enclosure, FittedEnclosure)
    return plan.enclosure


def sealed_sizes() -> FittedSizes:
    """What its enclosure is made from."""
    return enclosure_of(sealed_plan()).sizes


def flange_in(sizes: FittedSizes) -> Flange:
    """The flange that must be there."""
    assert sizes.shell.flange is not None
    return sizes.shell.flange


def vent_in(sizes: FittedSizes) -> VentPlace:
    """The vent that must be there."""
    assert sizes.vent is not None
    return sizes.vent


def gasket_in(pack: Pack) -> GasketSpec:
    """The gasket that must be asked for."""
    assert pack.enclosure.gasket is not None
    return pack.enclosure.gasket


def judged(pack: Pack, sizes: FittedSizes) -> dict[str, Check]:
    """The gasket's checks by their ids."""
    return {check.id: check for check in gasket_checks(pack, sizes)}
