"""The protection board (BMS): what it counts, bears and stops, and what it can't."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from layouts.checks import Check
from layouts.ratings.given import above_zero, at_most, counted

__all__ = [
    "Board",
    "Port",
    "bms_cautions",
    "bms_charge_check",
    "bms_current_check",
    "bms_series_check",
]


class Port(Enum):
    """Whether charger and load come to one pair of poles or to two."""

    COMMON = "common"
    SEPARATE = "separate"


@dataclass(frozen=True, kw_only=True, slots=True)
class Board:
    """A protection board as its seller gives it; None where nothing is said.

    ``cold_charge_stop``: stops charge of cells below freezing; ``series``: cells that it counts.
    """

    series: int | None = None
    continuous_a: float | None = None
    charge_a: float | None = None
    port: Port | None = None
    cold_charge_stop: bool | None = None


def bms_series_check(board: Board, *, series: int) -> Check | None:
    """The board counts as many cells as the pack has in series; None where it doesn't say."""
    if board.series is None:
        return None
    return Check(
        id="bms_series",
        about="the BMS is made for the pack's cells in series",
        holds=counted(board.series, "board.series") == counted(series, "series"),
        value=float(board.series),
        limit=float(series),
        unit="",
        source="the board's data sheet",
        how_to_mend=f"a board for {series} in series; one that can be set counts once it is set",
        at_least=board.series <= series,
    )


def bms_current_check(board: Board, *, asked_a: float) -> Check | None:
    """The board bears the load that is asked without end; None where it doesn't say."""
    if board.continuous_a is None:
        return None
    return Check(
        id="bms_a",
        about="the BMS bears the continuous load",
        holds=at_most(above_zero(asked_a, "asked_a"), above_zero(board.continuous_a, "board")),
        value=asked_a,
        limit=board.continuous_a,
        unit="A",
        source="the board's data sheet",
        how_to_mend="a board for more current (bms.continuous_a), or less load",
        at_least=False,
    )


def bms_charge_check(board: Board, *, charger_a: float) -> Check | None:
    """The board bears the charger's current; None where it doesn't say.

    On a common port charge takes the way of the load: its continuous current stands in for a
    charge current that isn't given.
    """
    limit = board.charge_a
    if limit is None and board.port is Port.COMMON:
        limit = board.continuous_a
    if limit is None:
        return None
    return Check(
        id="bms_charge_a",
        about="the BMS bears the charger's current",
        holds=at_most(above_zero(charger_a, "charger_a"), above_zero(limit, "board.charge_a")),
        value=charger_a,
        limit=limit,
        unit="A",
        source="the board's data sheet",
        how_to_mend="a smaller charger, or a board for more charge current",
        at_least=False,
    )


def bms_cautions(board: Board, *, disconnect: bool | None, gives_back: bool) -> tuple[str, ...]:
    """What the builder must know of the board and of the switch that isn't there.

    ``disconnect``: whether a means to disconnect by hand is there (None: not said);
    ``gives_back``: whether the machine's motor feeds current back.
    """
    said = []
    if not board.cold_charge_stop:
        word = "isn't said to stop" if board.cold_charge_stop is None else "doesn't stop"
        said.append(
            f"the BMS {word} charge of cold cells: charging lithium cells below 0 C plates metal "
            "and harms them for good; take a board that stops it, or never charge in the cold "
            "(titanate cells and data sheets that allow it aside; common practice, no source)"
        )
    if board.series is None:
        said.append("not said how many cells the BMS counts: it must be as many as are in series")
    if board.port is None:
        said.append(
            "not said whether the BMS has a common or a separate port: charge only by the pole "
            "that it provides for it"
        )
    if board.port is Port.SEPARATE and gives_back:
        said.append(
            "the motor feeds current back through the load's pole, and a board with a separate "
            "charge port can't stop charge there: a full pack is overcharged; use a board with a "
            "common port, or no braking by the motor"
        )
    if gives_back and board.port is not Port.SEPARATE:
        said.append(
            "the motor feeds current back: when the BMS opens on a full or cold pack, volts at the "
            "controller jump; it must stop by itself before"
        )
    if not disconnect:
        word = "none is said" if disconnect is None else "there is none"
        said.append(
            f"a means to disconnect the pack by hand is needed within reach, and {word}: a plug "
            "or switch rated for the direct current and volts (a BMS is no disconnect)"
        )
    return tuple(said)
