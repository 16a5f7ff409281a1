"""What is told of tub and lid, open or closed by a gasket."""

from __future__ import annotations

from layouts.planning.pack_plan import PackPlan

__all__ = ["case_cautions"]

OPEN = (
    "The enclosure is open: it sheds splashes and drains; no protection class is claimed. Gas "
    "and flame leave through the slots under the lid's drip skirt: point them away from the "
    "rider."
)
SEALED = (
    "The enclosure is closed by a gasket; no protection class is claimed. Gas and flame leave "
    "through the vent in its wall, all at one place: point it away from the rider, and let nothing "
    "that burns stand before it."
)


def case_cautions(plan: PackPlan) -> tuple[str, ...]:
    """None where no tub is made."""
    if plan.enclosure_set is None:
        return ()
    return (OPEN,) if plan.enclosure.seal is None else (SEALED,)
