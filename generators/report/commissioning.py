"""The commissioning sheet: the pack in its machine is tried in steps, readings beside what is
expected, with the values at which to stop.

Steps and limits are common practice, no source, unless they say otherwise; expected values come
from the plan. Local rules, the data sheets and licensed practice come first.
"""

from __future__ import annotations

from html import escape

from generators.report.document import document_html
from generators.report.markup import blank, kept_as, titled
from generators.report.values import Table
from generators.version import VERSION
from layouts.electrical.values import Electrical
from layouts.pack import Pack
from layouts.planning.pack_plan import PackPlan
from layouts.planning.trials import PROOF_RATIO, ProofPulls, TrialRun, proof_pulls, trial_runs

__all__ = ["commissioning_html"]

PULL_MINUTES = 1  # a pull of longer only makes plastic creep
LASTING_MM = 0.5  # that a foot may have moved after a pull
SAG_RATIO = 1.5  # of what is expected: beyond, a joint is bad
LUG_C = 60.0  # of lugs, plugs and fuse holders: too hot to keep a hand on
LEAST_MOHM = 1.0  # from each pole to the frame
FIRST_H, SECOND_H = 1, 10  # of use, after which everything is looked at again
EMPTY = ""

CAUTIONS = (
    "Lithium cells burn. Try the pack outdoors or where a fire can be left to burn out, sand or "
    "water at hand, a way out behind you, a second person within call, never unattended.",
    "Stop at once, disconnect by hand if that is safe and keep away at: smoke, hissing, a sweet "
    "smell, swelling, any value in a column headed \N{LEFT SINGLE QUOTATION MARK}stop"
    "\N{RIGHT SINGLE QUOTATION MARK}.",
    "Wheels, chains and shafts start without warning when the controller is powered: machine "
    "blocked up so that it can neither roll nor fall, hands, hair and sleeves away.",
    "Nobody rides and nothing is loaded before every line of this sheet is filled in. It is no "
    "certificate: local codes and licensed practice come first; where they ask for an inspection, "
    "have one.",
)


def commissioning_html(plan: PackPlan, *, mass_kg: float) -> str:
    """A page for A4 paper and for a phone; ``mass_kg``: of the finished pack."""
    name = plan.pack.name
    body = "".join(
        (
            '<a class="skip" href="#proof">Skip the cautions</a><div>',
            _head(name),
            "<main>",
            *(f'<p class="caution">{escape(text)}</p>' for text in CAUTIONS),
            _part("proof", "1. Proof load, enclosure empty, no cell in it", _proof(plan, mass_kg)),
            _part("insulation", "2. Insulation", _insulation(plan)),
            _part("wheels", "3. Wheels up", _wheels_up(plan)),
            _part("runs", "4. Under load", _runs(plan)),
            _part("after", "5. Looked at again", _again()),
            "</main>",
            f"<footer><p>Made by Cellstead {escape(VERSION)}. Expected values are calculated from "
            "the design, not measured; steps and limits are common practice, no source.</p>"
            "</footer></div>",
        )
    )
    return document_html(
        f"{name}: commissioning sheet",
        body,
        styles=("report.css", "commissioning.css"),
        scripts=("keep.js",),
    )


def _head(name: str) -> str:
    fields = ("machine", "done by", "date", "air temperature, \N{DEGREE SIGN}C")
    blanks = "".join(
        f"<div><dt>{words}</dt><dd>{blank(words, name, 'commissioning', words)}</dd></div>"
        for words in fields
    )
    return (
        f'<header class="block"><div class="name"><h1>{escape(name)}</h1>'
        '<p class="lead">Commissioning sheet: fill it in beside the machine, in this order.</p>'
        f"</div><dl>{blanks}</dl></header>"
    )


def _part(at: str, title: str, parts: tuple[str, ...]) -> str:
    return f'<section id="{at}"><h2>{escape(title)}</h2>{"".join(parts)}</section>'


def _steps(title: str, texts: tuple[str, ...]) -> str:
    rows = "".join(
        f'<li><label><input type="checkbox" data-keep="{kept_as(title, text)}">'
        f"<span>{escape(text)}</span></label></li>"
        for text in texts
    )
    return f'<ol class="steps">{rows}</ol>'


def _proof(plan: PackPlan, mass_kg: float) -> tuple[str, ...]:
    pulls = None if plan.enclosure_set is None else proof_pulls(plan, mass_kg=mass_kg)
    if pulls is None:
        return (_steps("proof", (_own_mounting(plan, mass_kg),)),)
    steps = (
        "Every bracket screwed to the frame and to the empty enclosure as it will stay, screws "
        "tightened and marked with a line of paint across head and part.",
        "A strap round the enclosure at half the height of the cells, a spring scale in it: pull "
        "slowly, hold, let go, measure how far each foot has moved for good.",
        "Then load it as below. A crack, a white line in the plastic, an insert that turns or "
        "rises, a foot that has moved: stop, find the cause, print that part anew.",
    )
    return (_steps("proof", steps), titled(_whole(pulls)), titled(_each(pulls)))


def _own_mounting(plan: PackPlan, mass_kg: float) -> str:
    load = plan.pack.load
    if load is None:
        return (
            "No load is given (load.acceleration_g), so no proof load is calculated: pull on the "
            "empty case with several times the pack's weight, in all directions, before use."
        )
    level, upright = max(load.acceleration_g[:2]), load.acceleration_g[2]
    return (
        f"The case and its mounting are yours: pull on the empty case for {PULL_MINUTES} min with "
        f"{PROOF_RATIO * mass_kg * level:.0f} kg on a spring scale in each level direction and "
        f"{PROOF_RATIO * mass_kg * upright:.0f} kg up and down ({PROOF_RATIO:g} times "
        f"load.acceleration_g of {mass_kg:.2f} kg). Nothing may crack or move for good."
    )


def _whole(pulls: ProofPulls) -> Table:
    level = [
        (f"level, towards {side}", f"{pulls.level_kg:.1f}", f"{PULL_MINUTES}",
         f"{LASTING_MM:g}", EMPTY)
        for side in ("+x", "\N{MINUS SIGN}x", "+y", "\N{MINUS SIGN}y")
    ]  # fmt: skip
    upright = [
        (way, f"{pulls.upright_kg:.1f}", f"{PULL_MINUTES}", f"{LASTING_MM:g}", EMPTY)
        for way in ("up", "down (weights on the lid's rim)")
    ]
    return Table(
        title="Pulls on the whole enclosure",
        headings=("direction", "kg", "minutes", "moved for good, stop above mm", "found, mm"),
        rows=(*level, *upright),
        note=f"{PROOF_RATIO:g} times what load.acceleration_g does to {pulls.mass_kg:.2f} kg, both "
        "level accelerations at once: a quarter more than the brackets are checked for. +x is "
        "where the main leads leave the pack, z runs along the cells.",
        filled_in=True,
    )


def _each(pulls: ProofPulls) -> Table:
    return Table(
        title="Or a bracket alone, screwed to a board",
        headings=(
            "bracket, pad at x, y mm", "off the wall, kg", "along it, kg", "up and down, kg",
            "each for, min", "found",
        ),
        rows=tuple(
            (
                f"{one.at_mm[0]:.0f}, {one.at_mm[1]:.0f}",
                f"{one.off_kg:.1f}",
                f"{one.along_kg:.1f}",
                f"{one.upright_kg:.1f}",
                f"{PULL_MINUTES}",
                EMPTY,
            )
            for one in pulls.brackets
        ),
        note="What each bracket bears of it, by the same calculation as the check of its strength; "
        "for a bracket of metal or of your own too.",
        filled_in=True,
    )  # fmt: skip


def _insulation(plan: PackPlan) -> tuple[str, ...]:
    full_v = plan.pack.series * plan.pack.cell.full_v
    least = f"{LEAST_MOHM:g}"
    rows = tuple(
        (f"{pole} to frame and brackets, {when}", least, EMPTY)
        for pole in ("plus", "minus")
        for when in ("pack in place, controller off", "after the runs below")
    )
    return (
        _steps("insulation", (
            f"Pack disconnected from the controller, insulation tester on its lowest range above "
            f"{full_v:.0f} V. Then no voltage from either pole to the frame by a meter.",
        )),
        titled(Table(
            title="Insulation resistance",
            headings=("between", "stop below, Mohm", "found, Mohm"),
            rows=rows, note="", filled_in=True,
        )),
    )  # fmt: skip


def _wheels_up(plan: PackPlan) -> tuple[str, ...]:
    pack, of = plan.pack, plan.electrical
    ratings, back = of.ratings, of.charging.back
    rows = [
        ("pack, at rest", f"{ratings.empty_v:.1f} to {ratings.full_v:.1f} V", EMPTY),
        ("groups, highest less lowest", "50 mV", EMPTY),
        ("current, wheels turning freely", f"{of.heat.load_a / 2.0:.1f} A", EMPTY),
    ]
    if back is not None:
        rows.append(("highest pack voltage while braking", f"{back.full_pack_v:.1f} V", EMPTY))
    return (
        _steps("wheels", (
            "Pack at about half charge, so that braking has somewhere to put its current. Driven "
            "wheels off the ground; precharge first if the controller has capacitors, then the "
            "fuse or plug. Five minutes from slow to fast.",
            "Direction, throttle back to zero, brake cut-off and the hand disconnect each tried; "
            f"BMS shows {pack.series} groups.",
        )),
        titled(Table(
            title="Wheels up",
            headings=("what", "stop outside or above", "found"),
            rows=tuple(rows), note="", filled_in=True,
        )),
    )  # fmt: skip


def _runs(plan: PackPlan) -> tuple[str, ...]:
    pack, of = plan.pack, plan.electrical
    runs = trial_runs(of, series=pack.series)
    return (
        _steps("runs", (
            "At walking pace beside the machine, current read from a meter or the BMS; where level "
            "ground does not ask for it, uphill or with a weight in tow. Voltage just before and "
            "half a minute after the current is on.",
            "Let it cool to the air's temperature between the runs. After each: warmest cell by "
            "the BMS sensor, the enclosure by hand or thermometer, every lug, plug and the fuse.",
        )),
        *(titled(_run(pack, of, one, name)) for name, one in zip(
            ("half load", "full load"), runs, strict=True
        )),
    )  # fmt: skip


def _run(pack: Pack, of: Electrical, run: TrialRun, name: str) -> Table:
    heat, limit_c = of.heat, of.heat.limits.lowest_c
    empty_v = pack.series * pack.cell.empty_v
    rows = (
        ("current", f"{run.current_a:.1f} A", f"{1.2 * run.current_a:.1f} A", EMPTY),
        ("voltage drop, pack and main leads", f"{run.sag_v:.2f} V",
         f"{SAG_RATIO * run.sag_v:.2f} V", EMPTY),
        ("drop of the worst group", f"{1000 * run.group_sag_v:.0f} mV",
         f"{1000 * SAG_RATIO * run.group_sag_v:.0f} mV", EMPTY),
        ("lowest pack voltage", "", f"below {empty_v:.1f} V", EMPTY),
        ("warmest cell", f"air + {run.cell_rise_k:.0f} K", f"{limit_c:.0f} \N{DEGREE SIGN}C",
         EMPTY),
        ("enclosure, outside", f"air + {run.outside_rise_k:.0f} K",
         f"air + {max(1.5 * run.outside_rise_k, run.outside_rise_k + 5.0):.0f} K", EMPTY),
        ("lugs, plugs, fuse", "warm at most", f"{LUG_C:.0f} \N{DEGREE SIGN}C", EMPTY),
    )  # fmt: skip
    note = (
        f"Air up to {heat.model.ambient_c:.0f} \N{DEGREE SIGN}C (load.ambient_c). Drops by the "
        "cells' direct-current resistance and the metal's at 20 \N{DEGREE SIGN}C; temperatures are "
        "estimates, 30 % of the rise either way."
    )
    return Table(
        title=f"{run.seconds / 60:.0f} minutes at {name}, {run.current_a:.1f} A",
        headings=("what", "expected", "stop above", "found"),
        rows=tuple((a, b or "\N{EM DASH}", c, d) for a, b, c, d in rows),
        note=note if name == "full load" else "",
        filled_in=True,
    )


def _again() -> tuple[str, ...]:
    what = (
        "paint lines on all screws whole; tightened again, and marked anew",
        "feet and enclosure where they were (slide, mm)",
        "enclosure still when the machine is shaken by hand (bounce)",
        "cracks or white lines at bracket corners, pads, inserts",
        "cables: rubbed, kinked, pulled at a gland or an edge",
        "lugs and plugs tight, not discoloured",
        "gas openings and drains clear",
        "groups at rest, highest less lowest, mV (50 at most)",
    )
    return (
        titled(Table(
            title="Everything that may have moved",
            headings=("what", f"after {FIRST_H} h of use", f"after {SECOND_H} h"),
            rows=tuple((one, EMPTY, EMPTY) for one in what),
            note="Then with every service. Ballast changed: stability, braking and steering were "
            "tried without a rider first.",
            filled_in=True,
        )),
        _steps("after", ("Signed: all of it in order; who may use the machine was told how to "
                         "disconnect the pack and what to do in a fire.",)),
    )  # fmt: skip
