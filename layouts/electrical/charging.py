"""Charge: the charger, its leads and fuse, the board, regeneration, temperatures."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.checks import Check
from layouts.electrical.leads import table_for
from layouts.errors import PlanError
from layouts.pack import Pack
from layouts.ratings.bms import Board, bms_charge_check
from layouts.ratings.charge import (
    CHARGE_RATE,
    TemperatureWindow,
    ambient_check,
    charge_current_check,
    charger_chemistry_check,
    charger_low_caution,
    charger_volts_check,
    temperature_window,
)
from layouts.ratings.fuse import (
    FuseChoice,
    FusePlace,
    choose_fuse,
    fuse_load_check,
    fuse_wire_check,
)
from layouts.ratings.load import (
    Regeneration,
    regeneration,
    regeneration_cells_check,
    regeneration_volts_check,
)
from layouts.ratings.wire import BASE_C, ampacity_a

__all__ = ["Charging", "board_of", "charge_cautions", "charge_checks", "charging"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Charging:
    """What charge puts on the pack.

    ``charge_a``: the charger's current, else what the cells take, ``charger_given`` says which;
    ``cells_a``: what the cells take together. ``wire_a``, ``fuse``: of the charge leads, None where
    their section isn't given. ``back``: current that a motor regenerates."""

    charge_a: float
    charger_given: bool
    cells_a: float
    cells_assumed: bool
    window: TemperatureWindow
    wire_a: float | None
    fuse: FuseChoice | None
    back: Regeneration | None


def board_of(pack: Pack) -> Board:
    """The pack file's protection board as the ratings take it."""
    bms = pack.bms
    return Board(
        series=bms.series,
        continuous_a=bms.continuous_a,
        peak_a=bms.peak_a,
        peak_s=bms.peak_s,
        charge_a=bms.charge_a,
        port=bms.port,
        cold_charge_stop=bms.cold_charge_stop,
    )


def charging(pack: Pack, *, ohm: float) -> Charging:
    """Charge of a pack; ``ohm``: of pack and main leads, which a motor's current meets.

    Raises PlanError where the charge leads are thinner than the smallest fuse protects."""
    cell, charger, load = pack.cell, pack.charger, pack.load
    one = cell.capacity_ah * CHARGE_RATE if cell.charge_a is None else cell.charge_a
    wire_a: float | None = None
    fuse: FuseChoice | None = None
    if charger is not None and charger.wire_mm2 is not None:
        ambient = BASE_C if load is None else load.ambient_c
        table = table_for(charger.wire_mm2, pack.leads.table)
        wire_a = ampacity_a(charger.wire_mm2, table=table, ambient_c=ambient)
        try:
            fuse = choose_fuse(continuous_a=charger.amps_a, wire_a=wire_a, place=FusePlace.CHARGE)
        except PlanError as error:
            raise PlanError(
                field="charger.wire_mm2", why=error.why, remedy=error.remedy, value=error.value
            ) from error
    back: Regeneration | None = None
    if load is not None and load.regeneration_a is not None:
        controller = pack.controller
        back = regeneration(
            current_a=load.regeneration_a,
            full_v=pack.series * cell.full_v,
            ohm=ohm,
            highest_v=None if controller is None else controller.highest_v,
            capacitance_f=None if controller is None else controller.capacitance_f,
        )
    return Charging(
        charge_a=one * pack.parallel if charger is None else charger.amps_a,
        charger_given=charger is not None,
        cells_a=one * pack.parallel,
        cells_assumed=cell.charge_a is None,
        window=temperature_window(
            max_c=cell.max_c, charge_c=cell.charge_c, discharge_least_c=cell.discharge_least_c
        ),
        wire_a=wire_a,
        fuse=fuse,
        back=back,
    )


def charge_checks(pack: Pack, of: Charging) -> tuple[Check, ...]:
    """The charger and a motor's current against cells, board and controller, where given."""
    cell, charger, load, board = pack.cell, pack.charger, pack.load, board_of(pack)
    found: list[Check | None] = []
    if charger is not None:
        found += [
            charger_volts_check(charger, series=pack.series, full_v=cell.full_v),
            charger_chemistry_check(charger, chemistry=cell.chemistry, full_v=cell.full_v),
            charge_current_check(
                charger,
                parallel=pack.parallel,
                capacity_ah=cell.capacity_ah,
                cell_charge_a=cell.charge_a,
                wire_charge_a=of.wire_a,
            ),
            bms_charge_check(board, charger_a=charger.amps_a),
        ]
        if of.fuse is not None and of.wire_a is not None:
            fuse = of.fuse.fuse
            found += [
                fuse_load_check(fuse, demand_a=charger.amps_a, place=FusePlace.CHARGE),
                fuse_wire_check(fuse, wire_a=of.wire_a, place=FusePlace.CHARGE),
            ]
    if load is not None:
        found.append(ambient_check(of.window, ambient_c=load.ambient_c))
    if of.back is not None:
        found.append(
            regeneration_cells_check(
                current_a=of.back.current_a,
                cell_charge_a=of.cells_a / pack.parallel,
                parallel=pack.parallel,
                board_charge_a=board.charge_a,
            )
        )
        if pack.controller is not None and pack.controller.highest_v is not None:
            found.append(regeneration_volts_check(of.back, highest_v=pack.controller.highest_v))
    return tuple(check for check in found if check is not None)


def charge_cautions(pack: Pack, of: Charging) -> tuple[str, ...]:
    """What is assumed of charge, and what a full pack does to regenerated current."""
    said = []
    if pack.charger is not None:
        low = charger_low_caution(pack.charger, series=pack.series, full_v=pack.cell.full_v)
        if low is not None:
            said.append(f"charger: {low}")
        if of.cells_assumed:
            said.append(
                f"charger: the cells' charge current is not given, {of.cells_a:.3g} A assumed "
                "for all: 0.5C (common practice, no source)"
            )
    if of.fuse is not None and not of.fuse.fits:
        said.append(f"charger: {of.fuse.reason}; use thicker wires for it")
    if of.back is not None:
        said.append(
            f"regenerative braking: {of.back.current_a:g} A into a full pack raises it to "
            f"{of.back.full_pack_v:.1f} V; disable regeneration in the controller from "
            f"{of.back.stop_v:.1f} V up"
        )
        if of.back.seconds_to_limit is not None:
            said.append(
                "regenerative braking: once the BMS has opened, the controller reaches its own "
                f"voltage limit within {of.back.seconds_to_limit:.2g} s"
            )
    return tuple(said)
