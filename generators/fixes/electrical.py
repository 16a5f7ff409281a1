"""What may be changed where a check of currents, voltages or temperatures fails, best first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from generators.fixes.less_load import DRIVING, less_load, less_peak
from generators.fixes.steps import WIRES_MM2, Changes, down, fuse_rating_a, next_of, thicker_mm2, up
from layouts.checks import Check
from layouts.heat.polymers import polymer_heats
from layouts.pack import Pack
from layouts.planning.pack_plan import PackPlan
from layouts.ratings.fuse import BEARS_RATIO, PEAK_RATIO, RATINGS_A, fuse_opens_at_a

__all__ = ["ELECTRICAL"]

Candidates = Callable[[Check, PackPlan], Iterator[Changes]]

DC_VOLTS = (32.0, 58.0, 80.0, 125.0, 250.0, 500.0, 1000.0)  # of fuses as sold; from memory
LAYERS_MOST, SPOTS_MOST = 4, 20  # that the pack file permits
THICKEST_MM = 0.3  # single strip that a bench welder may just weld; common practice, no source


def _ratio(check: Check) -> float:
    """By how much the limit is exceeded, 1 and more."""
    assert check.value is not None and check.limit
    return max(check.value / check.limit, 1.0)


def _limit(check: Check) -> float:
    assert check.limit is not None
    return check.limit


def _value(check: Check) -> float:
    assert check.value is not None
    return check.value


def _load_current(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """First what the limiting part could be, then more cells, then less load."""
    part = _PARTS.get(check.where)
    if part is not None:
        yield from part(check, plan)
    yield from _more_cells(check, plan)
    yield from less_load(_limit(check), plan)


def _strips(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """More layers, thicker strip, both; then copper, which needs another welder."""
    strip, ratio = plan.pack.strip, _ratio(check)
    layers = int(up(strip.layers * ratio, 1))
    if strip.layers < layers <= LAYERS_MOST:
        yield {"strip.layers": layers}
    thick = up(strip.thickness_mm * ratio, 0.05)
    if thick <= THICKEST_MM:
        yield {"strip.thickness_mm": thick}
    for many in range(strip.layers + 1, LAYERS_MOST + 1):
        thick = up(strip.thickness_mm * strip.layers * ratio / many, 0.05)
        if strip.thickness_mm < thick <= THICKEST_MM:
            yield {"strip.layers": many, "strip.thickness_mm": thick}
    if strip.material != "copper":
        yield {"strip.material": "copper"}


def _welds(check: Check, plan: PackPlan) -> Iterator[Changes]:
    spots = int(up(plan.pack.strip.weld_spots * _ratio(check), 1))
    if spots <= SPOTS_MOST:
        yield {"strip.weld_spots": spots}


def _wire(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Thicker ones from the series; a current rises slower than the section."""
    area = plan.pack.leads.wire_mm2
    for wider in [one for one in WIRES_MM2 if one > area * _ratio(check) - 1e-9][:4]:
        yield {"leads.wire_mm2": wider}


def _connector(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield {"leads.connector_a": up(_value(check), 5.0)}


def _board(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield {"bms.continuous_a": up(_value(check), 5.0)}


def _fuse(check: Check, plan: PackPlan) -> Iterator[Changes]:
    rating = fuse_rating_a(_value(check))
    if rating is not None and plan.pack.fuse is not None:
        yield {"fuse.rating_a": rating}


def _more_cells(check: Check, plan: PackPlan) -> Iterator[Changes]:
    first = max(int(up(plan.pack.parallel * _ratio(check), 1)), plan.pack.parallel + 1)
    yield {"parallel": first}
    yield {"parallel": first + 1}


def _load_peak(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield from _more_cells(check, plan)
    yield from less_peak(_limit(check), plan)


def _power(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """No operating point: a pack of less resistance, or no more power than its current gives."""
    more = int(up(plan.pack.parallel * _ratio(check), 1)) + 1
    yield {"parallel": more}
    yield {"parallel": more + 2}
    load, ratings = plan.pack.load, plan.electrical.ratings
    if load is None:
        return
    if load.derived:
        yield from less_load(ratings.pack_continuous_a, plan)
        yield from less_peak(ratings.pack_continuous_a, plan)
        return
    watts = down(0.9 * ratings.pack_continuous_a * ratings.empty_v, 1.0)
    if load.continuous_w is not None and 0 < watts < load.continuous_w:
        yield {"load.continuous_w": watts}
    if load.peak_w is not None and 0 < watts < load.peak_w:
        yield {"load.peak_w": watts}


def _wire_drop(check: Check, plan: PackPlan) -> Iterator[Changes]:
    wider = next_of(WIRES_MM2, plan.pack.leads.wire_mm2 * _ratio(check))
    if wider is not None:
        yield {"leads.wire_mm2": wider}
    length = down(plan.pack.leads.length_mm / _ratio(check), 10.0)
    if length >= 20:
        yield {"leads.length_mm": length}


def _fuse_load(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield from _fuse(check, plan)
    yield from less_load(_limit(check), plan)


def _fuse_peak(check: Check, plan: PackPlan) -> Iterator[Changes]:
    rating = next_of(RATINGS_A, _value(check) / PEAK_RATIO)
    if rating is not None and plan.pack.fuse is not None:
        yield {"fuse.rating_a": rating}
    yield from less_peak(_limit(check), plan)


def _fuse_wire(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A smaller fuse where the load allows it, else thicker wires."""
    demand = plan.electrical.ratings.demand_a or 0.0
    for rating in reversed([one for one in RATINGS_A if one <= _limit(check)][-1:]):
        if rating * BEARS_RATIO >= demand:
            yield {"fuse.rating_a": rating}
    yield from _wire(check, plan)


def _fuse_volts(check: Check, plan: PackPlan) -> Iterator[Changes]:
    volts = next_of(DC_VOLTS, _limit(check))
    if volts is not None:
        yield {"fuse.dc_v": volts}


def _fuse_breaking(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield {"fuse.breaking_a": up(_limit(check), 500.0)}


def _fuse_fault(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A smaller or a faster fuse, then a shorter or thicker wire."""
    fuse, demand = plan.pack.fuse, plan.electrical.ratings.demand_a or 0.0
    if fuse is not None:
        multiple = fuse_opens_at_a(fuse) / fuse.rating_a
        fitting = [one for one in RATINGS_A if one * multiple <= _value(check)]
        if fitting and fitting[-1] * BEARS_RATIO >= demand:
            yield {"fuse.rating_a": fitting[-1]}
        faster = down(_value(check) / fuse.rating_a, 0.1)
        if faster > 1.0:
            yield {"fuse.opens_multiple": faster}
    length = plan.pack.leads.length_mm
    yield {"leads.length_mm": max(20.0, down(length / _ratio_up(check), 10.0))}
    for wider in thicker_mm2(plan.pack.leads.wire_mm2, 3):
        yield {"leads.wire_mm2": wider}


def _ratio_up(check: Check) -> float:
    """By how much a value falls short of a limit that it must reach."""
    return max(_limit(check) / _value(check), 1.0) if check.value else 2.0


def _wire_fault(check: Check, plan: PackPlan) -> Iterator[Changes]:
    for wider in thicker_mm2(plan.pack.leads.wire_mm2, 4):
        yield {"leads.wire_mm2": wider}
    yield from _fuse_fault_smaller(plan)


def _fuse_fault_smaller(plan: PackPlan) -> Iterator[Changes]:
    fuse, demand = plan.pack.fuse, plan.electrical.ratings.demand_a or 0.0
    if fuse is not None:
        smaller = [one for one in RATINGS_A if one < fuse.rating_a and one * BEARS_RATIO >= demand]
        yield from ({"fuse.rating_a": one} for one in reversed(smaller[-2:]))


def _controller_high(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Fewer in series, with all that is made for that number; else another controller."""
    pack = plan.pack
    series = int(down(_limit(check) / pack.cell.full_v, 1))
    if series >= 1:
        yield _in_series(pack, series)
    yield {"controller.highest_v": up(_value(check), 1.0)}


def _controller_low(check: Check, plan: PackPlan) -> Iterator[Changes]:
    pack = plan.pack
    yield _in_series(pack, int(up(_limit(check) / pack.cell.empty_v, 1)))
    yield {"controller.lowest_v": down(_value(check), 0.5)}


def _in_series(pack: Pack, series: int) -> Changes:
    changes: dict[str, object] = {"series": series}
    if pack.bms.series is not None:
        changes["bms.series"] = series
    if pack.charger is not None:
        changes["charger.volts_v"] = round(series * pack.cell.full_v, 2)
    return changes


def _cutoff(check: Check, plan: PackPlan) -> Iterator[Changes]:
    volts = up(_limit(check), 0.5)
    controller = plan.pack.controller
    if controller is not None and controller.cutoff_v is not None:
        yield {"controller.cutoff_v": volts}
    else:
        yield {"load.discharge_cutoff_v": volts}


def _board_series(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield {"bms.series": plan.pack.series}


def _board_charge(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield {"charger.amps_a": down(_limit(check), 0.1)}
    yield {"bms.charge_a": up(_value(check), 1.0)}


def _charger_volts(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield {"charger.volts_v": round(plan.pack.series * plan.pack.cell.full_v, 2)}


def _charger_chemistry(check: Check, plan: PackPlan) -> Iterator[Changes]:
    pack = plan.pack
    yield {"charger.chemistry": pack.cell.chemistry}
    volts = round(pack.series * pack.cell.full_v, 2)
    yield {"charger.chemistry": pack.cell.chemistry, "charger.volts_v": volts}


def _charger_amps(check: Check, plan: PackPlan) -> Iterator[Changes]:
    amps = down(_limit(check), 0.1)
    if amps > 0:
        yield {"charger.amps_a": amps}
    yield from _more_cells(check, plan)


def _ambient(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield {"load.ambient_c": _limit(check)}


def _regeneration_volts(check: Check, plan: PackPlan) -> Iterator[Changes]:
    yield {"controller.highest_v": up(_value(check), 1.0)}


def _regeneration(check: Check, plan: PackPlan) -> Iterator[Changes]:
    amps = down(_limit(check), 0.1)
    if amps > 0:
        yield {"load.regeneration_a": amps}


def _temperature(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """More cells share the heat; else the current at which it stays below."""
    yield {"parallel": plan.pack.parallel + 1}
    yield {"parallel": plan.pack.parallel + 2}
    yield from less_load(plan.electrical.heat.discharge.amps, plan)


def _plastic(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Another material, the one that softens first; else as for the cells."""
    needed = _value(check)
    known = sorted(polymer_heats().values(), key=lambda one: (one.most_c, one.material))
    for polymer in known:
        if polymer.most_c >= needed:
            yield {"printer.material": polymer.material}
    yield from _temperature(check, plan)


def _board_peak(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A board with a peak rating, for as long as the peak lasts; else a lower peak."""
    load = plan.pack.load
    if load is not None and load.peak_s is not None:
        yield {"bms.peak_a": up(_value(check), 5.0), "bms.peak_s": load.peak_s}
    yield from less_peak(_limit(check), plan)


def _or_less_peak(part: Candidates) -> Candidates:
    """What the part could be, then the peak that it carries as it is."""

    def candidates(check: Check, plan: PackPlan) -> Iterator[Changes]:
        yield from part(check, plan)
        yield from less_peak(_limit(check), plan)

    return candidates


def _cooler_wire(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Thicker wires; on plastic a material that softens later too."""
    for wider in thicker_mm2(plan.pack.leads.wire_mm2, 3):
        yield {"leads.wire_mm2": wider}
    if check.id == "wire_plastic_c":
        known = sorted(polymer_heats().values(), key=lambda one: (one.most_c, one.material))
        yield from (
            {"printer.material": one.material} for one in known if one.most_c >= _value(check)
        )


def _slower_charge(check: Check, plan: PackPlan) -> Iterator[Changes]:
    charger = plan.pack.charger
    if charger is not None:
        for share in (0.75, 0.5, 0.25):
            yield {"charger.amps_a": max(down(share * charger.amps_a, 0.1), 0.1)}


def _charge_wire(check: Check, plan: PackPlan) -> Iterator[Changes]:
    charger = plan.pack.charger
    if charger is not None and charger.wire_mm2 is not None:
        for wider in thicker_mm2(charger.wire_mm2, 3):
            yield {"charger.wire_mm2": wider}


_PARTS: Mapping[str, Candidates] = {
    "links": _strips,
    "welds": _welds,
    "wire": _wire,
    "connector": _connector,
    "bms": _board,
    "fuse": _fuse,
}

ELECTRICAL: Mapping[str, Candidates] = {
    "load": _power,
    "load_current_a": _load_current,
    "load_peak_a": _load_peak,
    "bms_a": _board,
    "bms_series": _board_series,
    "bms_charge_a": _board_charge,
    "wire_a": _wire,
    "wire_volts_lost_v": _wire_drop,
    "wire_fault_s": _wire_fault,
    "fuse_load_a": _fuse_load,
    "fuse_peak_a": _fuse_peak,
    "fuse_wire_a": _fuse_wire,
    "fuse_dc_v": _fuse_volts,
    "fuse_breaking_a": _fuse_breaking,
    "fuse_least_fault_a": _fuse_fault,
    "controller_high_v": _controller_high,
    "controller_low_v": _controller_low,
    "controller_cutoff_v": _cutoff,
    "charger_v": _charger_volts,
    "charger_chemistry": _charger_chemistry,
    "charger_a": _charger_amps,
    "ambient_c": _ambient,
    "regeneration_v": _regeneration_volts,
    "regeneration_a": _regeneration,
    "cell_temperature": _temperature,
    "polymer_temperature": _plastic,
    "bms_peak_a": _board_peak,
    "connector_peak_a": _or_less_peak(_connector),
    "links_peak_a": _or_less_peak(_strips),
    "welds_peak_a": _or_less_peak(_welds),
    "wire_peak_c": _cooler_wire,
    "wire_inside_a": _cooler_wire,
    "wire_plastic_c": _cooler_wire,
    "charge_temperature": _slower_charge,
    "charge_fuse_load_a": _charge_wire,
    "charge_fuse_wire_a": _charge_wire,
    **DRIVING,
}
