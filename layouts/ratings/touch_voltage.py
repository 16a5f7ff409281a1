"""Touch voltage limits, and what changes above them."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.ratings.given import PRACTICE, above_zero, at_most

__all__ = ["DRY_V", "HARM_V", "WET_V", "Touch", "touch", "touch_cautions"]

# Parts that may be touched, ripple-free direct current: IEC 60598-1:2008 clause 8.2.3 as quoted in
# a public forum; ES1 of IEC 62368-1 table 4 is the same figure, from memory
DRY_V = 60.0
WET_V = 30.0  # wet hands or body contact; common practice, no source
# Most that safety extra-low voltage may have, ripple-free direct current: IEC Electrotechnical
# Vocabulary (2008), from IEC 61558-1
HARM_V = 120.0
DRY_SOURCE = "IEC 60598-1:2008 clause 8.2.3, as quoted in a public forum"


@dataclass(frozen=True, kw_only=True, slots=True)
class Touch:
    """The pack's highest voltage against the touch voltage limit."""

    highest_v: float
    limit_v: float
    wet: bool
    source: str

    @property
    def exceeds(self) -> bool:
        """Whether bare parts are no longer safe to touch."""
        return not at_most(self.highest_v, self.limit_v)


def touch(*, highest_v: float, wet: bool) -> Touch:
    """``highest_v``: full, or more while a motor feeds back; ``wet``: splashed, or on the body."""
    return Touch(
        highest_v=above_zero(highest_v, "highest_v"),
        limit_v=WET_V if wet else DRY_V,
        wet=wet,
        source=PRACTICE if wet else DRY_SOURCE,
    )


def touch_cautions(found: Touch) -> tuple[str, ...]:
    """What changes above the limit; empty below it."""
    if not found.exceeds:
        return ()
    where = "with wet hands or on the body" if found.wet else "with dry hands"
    said = [
        f"{found.highest_v:.1f} V is above the {found.limit_v:g} V DC that is safe to touch "
        f"{where} ({found.source}): no bare strip, balance lead or terminal within finger's "
        "reach once the lid is on, and the lid must open with a tool only",
        "terminals and plugs must be touch-safe while unplugged; balance connectors carry up to "
        "the full pack voltage",
        "work on the open pack with tools and gloves insulated for that voltage, one-handed, "
        "with everything else covered, and not alone; first split it into sections below "
        f"{found.limit_v:g} V where its strips allow it",
        "mark it with its voltage and an electric shock sign; switches, fuse and plugs must be "
        "rated for that DC voltage",
    ]
    if not at_most(found.highest_v, DRY_V):
        said.append(
            "many rules that exempt packs up to 60 V apply above it: ask a licensed person "
            "before you build or ship it"
        )
    if not at_most(found.highest_v, HARM_V):
        said.append(
            f"above {HARM_V:g} V, the most that safety extra-low voltage may have (IEC 61558-1), "
            "contact can be fatal: do not build it at home"
        )
    return tuple(said)
