"""The protection board (BMS): its series count, its ratings, what it stops and what it can't."""

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
    "bms_peak_check",
    "bms_series_check",
]


class Port(Enum):
    """Whether charger and load come to one pair of poles or to two."""

    COMMON = "common"
    SEPARATE = "separate"


@dataclass(frozen=True, kw_only=True, slots=True)
class Board:
    """A protection board as its seller specifies it; None where nothing is given.

    ``cold_charge_stop``: stops charge of cells below freezing; ``series``: cells that it counts;
    ``peak_a``: what it carries for ``peak_s``.
    """

    series: int | None = None
    continuous_a: float | None = None
    peak_a: float | None = None
    peak_s: float | None = None
    charge_a: float | None = None
    port: Port | None = None
    cold_charge_stop: bool | None = None


def bms_series_check(board: Board, *, series: int) -> Check | None:
    """The board's series count matches the pack's; None where not given."""
    if board.series is None:
        return None
    return Check(
        id="bms_series",
        about="the BMS series count matches the pack",
        holds=counted(board.series, "board.series") == counted(series, "series"),
        value=float(board.series),
        limit=float(series),
        unit="",
        source="the board's data sheet",
        remedy=f"a board for {series} in series; a configurable one counts once it is set",
        at_least=board.series <= series,
    )


def bms_current_check(board: Board, *, demand_a: float) -> Check | None:
    """The board's continuous rating covers the load; None where not given."""
    if board.continuous_a is None:
        return None
    return Check(
        id="bms_a",
        about="the BMS continuous rating covers the load",
        holds=at_most(above_zero(demand_a, "demand_a"), above_zero(board.continuous_a, "board")),
        value=demand_a,
        limit=board.continuous_a,
        unit="A",
        source="the board's data sheet",
        remedy="a board for more current (bms.continuous_a), or less load",
        at_least=False,
    )


def bms_peak_check(board: Board, *, peak_a: float, peak_s: float | None) -> Check | None:
    """The board's peak rating covers the peak load and its duration; None where none is given.

    A peak that is longer than the board's, or of a board without one, counts as continuous.
    """
    told = board.peak_a
    short = peak_s is not None and board.peak_s is not None and at_most(peak_s, board.peak_s)
    limit = told if told is not None and short else board.continuous_a
    if limit is None:
        return None
    if told is None:
        why = "no peak rating given: its continuous rating applies"
    elif not short:
        why = "the peak lasts longer than the board's: its continuous rating applies"
    else:
        why = "its peak rating"
    return Check(
        id="bms_peak_a",
        about=f"the BMS covers the peak load ({why})",
        holds=at_most(above_zero(peak_a, "peak_a"), above_zero(limit, "board")),
        value=peak_a,
        limit=limit,
        unit="A",
        source="the board's data sheet",
        remedy="a board for more current (bms.continuous_a, bms.peak_a), or a lower peak",
        at_least=False,
    )


def bms_charge_check(board: Board, *, charger_a: float) -> Check | None:
    """The board's charge rating covers the charger's current; None where not given.

    On a common port charge takes the path of the load: its continuous current stands in for a
    charge current that isn't given."""
    limit = board.charge_a
    if limit is None and board.port is Port.COMMON:
        limit = board.continuous_a
    if limit is None:
        return None
    return Check(
        id="bms_charge_a",
        about="the BMS charge rating covers the charger's current",
        holds=at_most(above_zero(charger_a, "charger_a"), above_zero(limit, "board.charge_a")),
        value=charger_a,
        limit=limit,
        unit="A",
        source="the board's data sheet",
        remedy="a smaller charger, or a board for more charge current",
        at_least=False,
    )


def bms_cautions(board: Board, *, disconnect: bool | None, gives_back: bool) -> tuple[str, ...]:
    """Cautions about the board and a missing disconnect switch.

    ``disconnect``: whether there is a manual disconnect (None: not given); ``gives_back``: whether
    the machine's motor regenerates."""
    said = []
    if not board.cold_charge_stop:
        word = "is not stated to stop" if board.cold_charge_stop is None else "doesn't stop"
        said.append(
            f"the BMS {word} charge of cold cells: charging lithium cells below 0 C plates "
            "lithium metal and damages them permanently; take a board that stops it, or never "
            "charge in the cold (titanate cells and data sheets that allow it aside; common "
            "practice, no source)"
        )
    if board.series is None:
        said.append("the BMS series count is not given: it must equal the pack's cells in series")
    if board.port is None:
        said.append(
            "it is not given whether the BMS has a common or a separate port: charge only "
            "through the terminal that it provides for charging"
        )
    if board.port is Port.SEPARATE and gives_back:
        said.append(
            "the motor regenerates through the load terminal, and a board with a separate "
            "charge port can't stop charge there: a full pack is overcharged; use a board with "
            "a common port, or disable regenerative braking"
        )
    if gives_back and board.port is not Port.SEPARATE:
        said.append(
            "the motor regenerates: when the BMS opens on a full or cold pack, the voltage at "
            "the controller jumps; the controller must stop regeneration before that"
        )
    if not disconnect:
        word = "none is stated" if disconnect is None else "there is none"
        said.append(
            f"a means to disconnect the pack by hand is needed within reach, and {word}: a plug "
            "or switch rated for the DC voltage and current (a BMS is no disconnect)"
        )
    return tuple(said)
