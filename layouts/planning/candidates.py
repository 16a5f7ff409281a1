"""What may be planned for one pack: layout of the cells, enclosure, bracket, how it stands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from layouts.cells.choice import choose_block, lay_block
from layouts.cells.fields import BlockShape
from layouts.pack import EnclosureStyle, Pack, Side
from layouts.planning.estimate import envelope, miss_mm

__all__ = ["Candidate", "candidate_miss_mm", "candidates_of", "pack_with"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Candidate:
    """One way to plan a pack.

    ``layout``: None for the best field, or where cells are placed in an outline. ``form``,
    ``bracket_kind``: the words of the pack file that ask for them. ``pose``: the side of the
    space that the main leads leave to.
    """

    layout: BlockShape | None
    form: EnclosureStyle
    bracket_kind: str
    pose: Side


def candidates_of(pack: Pack) -> Iterator[Candidate]:
    """What the pack asks for: one form, one kind of bracket, one pose."""
    yield Candidate(
        layout=None,
        form=pack.enclosure.style,
        bracket_kind=pack.mount.kind,
        pose=pack.leads.side,
    )


def pack_with(pack: Pack, candidate: Candidate) -> Pack:
    """The pack asking for that candidate's form, kind and pose."""
    return replace(
        pack,
        enclosure=replace(pack.enclosure, style=candidate.form),
        mount=replace(pack.mount, kind=candidate.bracket_kind),
        leads=replace(pack.leads, side=candidate.pose),
    )


def candidate_miss_mm(pack: Pack, candidate: Candidate) -> float:
    """By how much its estimated outside exceeds the space's box, worst axis; negative: it fits.

    Nothing is missed without a space, nor without an enclosure: held cells are no larger than
    the outline that they were placed in.
    """
    asked = pack_with(pack, candidate)
    if asked.space is None or asked.enclosure.style is EnclosureStyle.NONE:
        return 0.0
    if candidate.layout is None:
        _, sizes = choose_block(asked, estimate=envelope)
    else:
        _, sizes = lay_block(asked, candidate.layout, estimate=envelope)
    return miss_mm(sizes.outside_mm, asked.space, candidate.pose)
