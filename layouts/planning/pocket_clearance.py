"""A clearance that the pack file leaves open grows, or the holder is cut into looser tiles, where
the second holder would not go on over so many cells."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil, inf

from layouts.cells.arrangement import CellLayout
from layouts.cells.cuts import LOOSE_TILE_PLAY_MM
from layouts.holders.second_holder import ENOUGH, SURE, fit_spread, needed_mm, tiles_radius_mm
from layouts.pack import Pack
from layouts.printing.stack import chance_of, clearance_for, rss_clearance_mm, rss_radius_mm

__all__ = ["LOOSER_MOST_MM", "PocketChoice", "chosen_pockets"]

# So much wider than usual a pocket may be before cans rattle and lean: judged
LOOSER_MOST_MM = 0.15
STEP_MM = 0.01  # of a clearance
FLOAT = 1e-9
# By formula so much below the clearance, nothing has to be drawn: for one piece the chance is then
# above 98 %, over 7 to 500 cells
PLAIN_MM = 0.03

Laid = tuple[Pack, CellLayout]


@dataclass(frozen=True, kw_only=True, slots=True)
class PocketChoice:
    """A clearance; tiles whose cells all lie within ``tile_radius_mm`` of their middle, the play
    of their joints (None: the usual one)."""

    clearance_mm: float
    tile_radius_mm: float = inf
    play_mm: float | None = None

    def of(self, pack: Pack) -> Pack:
        """The pack with that clearance."""
        return replace(pack, holder=replace(pack.holder, clearance_mm=self.clearance_mm))

    def joined(self, cell_layout: CellLayout) -> CellLayout:
        """The cells with that play of the joints."""
        if self.play_mm is None:
            return cell_layout
        return replace(cell_layout, tile_play_mm=self.play_mm)


def chosen_pockets(
    pack: Pack, usual: CellLayout, lay: Callable[[PocketChoice], Laid | None], *, can_cut: bool
) -> tuple[PocketChoice, str] | None:
    """What is chosen in place of the usual clearance, and a note; None: nothing else, or nothing
    that does.

    ``lay``: cells laid with a choice, and their pack; None where they find no room. ``can_cut``:
    whether more tiles may be made than the bed asks for. The first of these that does: joints of
    tiles with more play; a larger clearance with it; smaller tiles."""
    now = pack.holder.clearance_mm
    if pack.holder.clearance_given or _is_plain(pack, usual):
        return None
    chance = chance_of(needed_mm(pack, usual), now)
    if chance >= ENOUGH:
        return None
    choice = PocketChoice(clearance_mm=now)
    laid: Laid | None = pack, usual
    tried_cut = not can_cut
    while laid is not None:
        found = _suited(*laid, choice, now)
        if found is not None:
            return found, _note(usual, now, chance, found)
        radius = rss_radius_mm(now - PLAIN_MM, fit_spread(pack.printer.spread, pack.cell))
        if tried_cut or not pack.pitch_mm < radius < tiles_radius_mm(usual):
            return None
        tried_cut = True
        choice = replace(choice, tile_radius_mm=radius)
        laid = lay(choice)
    return None


def _is_plain(pack: Pack, cell_layout: CellLayout) -> bool:
    """Whether the formula leaves no doubt."""
    spread = fit_spread(pack.printer.spread, pack.cell)
    need = rss_clearance_mm(tiles_radius_mm(cell_layout), spread) + PLAIN_MM
    return not cell_layout.tile.any() and need <= pack.holder.clearance_mm


def _suited(
    pack: Pack, cell_layout: CellLayout, choice: PocketChoice, usual_mm: float
) -> PocketChoice | None:
    """The choice with the play and the clearance that its cells need; None: none does."""
    if cell_layout.tile.any():
        if chance_of(needed_mm(pack, choice.joined(cell_layout)), usual_mm) >= ENOUGH:
            return choice
        choice = replace(choice, play_mm=LOOSE_TILE_PLAY_MM)
    needed = needed_mm(pack, choice.joined(cell_layout))
    if cell_layout.tile.any() and chance_of(needed, usual_mm) >= ENOUGH:
        return choice
    wanted = ceil(clearance_for(needed, SURE) / STEP_MM - FLOAT) * STEP_MM
    if wanted <= usual_mm + LOOSER_MOST_MM + FLOAT:
        return replace(choice, clearance_mm=round(wanted, 2))
    return None


def _note(usual: CellLayout, usual_mm: float, chance: float, found: PocketChoice) -> str:
    """Why it is so, and what to do about it."""
    does = []
    if found.tile_radius_mm < inf:
        does.append("each holder is cut into tiles")
    if found.play_mm is not None:
        does.append(
            f"tiles are joined with {found.play_mm:g} mm of play, so that those above follow "
            "the cells below: put them on one after the other"
        )
    elif found.tile_radius_mm < inf:
        does.append("put the upper ones on one after the other")
    if found.clearance_mm != usual_mm:
        does.append(f"holder.clearance_mm is {found.clearance_mm:.2f}")
    return (
        f"With pockets {usual_mm:g} mm wider than the largest can the chance that the second "
        f"holder goes on by hand over all {len(usual.xy_mm)} cells is {100 * chance:.1f} %; so "
        f"{'; '.join(does)}. A holder.clearance_mm of the pack file is kept as it is."
    )
