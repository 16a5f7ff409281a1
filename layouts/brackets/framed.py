"""Brackets that a solver has placed on the features of a frame: of several sizes, or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from layouts.brackets.angle import BracketDesign, design_on_holes
from layouts.brackets.angle_strength import STAND_MM
from layouts.brackets.holding import FrameHold, HeldBody, LugSize
from layouts.brackets.kind import Bought, Bracket, Hold, MountingPad, Plate, Stack
from layouts.checks import Check
from layouts.pack import Pack
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew

__all__ = ["FrameBrackets", "NoBrackets", "brackets_on_frame", "pads_of_part"]

ALIKE_DIGITS = 2  # feet whose holes differ by less than a hundredth of a millimetre are one part


@dataclass(frozen=True, kw_only=True, slots=True)
class NoBrackets:
    """A pack that nothing bolts to its frame."""

    @property
    def parts(self) -> tuple[Part, ...]:
        """None."""
        return ()

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """None."""
        return ()

    @property
    def bought(self) -> tuple[Bought, ...]:
        """Nothing."""
        return ()

    @property
    def stand_mm(self) -> float:
        """As far as feet would reach: its drains stay open on what is laid under it."""
        return STAND_MM

    @property
    def hold(self) -> Hold:
        """Nowhere."""
        return Hold(out_mm=0.0, below_mm=0.0, apart_mm=0.0)

    def checks(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float
    ) -> tuple[Check, ...]:
        """None."""
        return ()

    def holds(
        self, body: HeldBody, lugs: Sequence[tuple[MountingPad, LugSize]]
    ) -> tuple[FrameHold, ...]:
        """None."""
        return ()

    def stiffness_n_mm(self, pack: Pack) -> None:
        """There is none."""

    def plates(self, stack: Stack) -> tuple[Plate, ...]:
        """None."""
        return ()

    def card_words(self, stack: Stack) -> tuple[str, ...]:
        """That there are none."""
        return ("Brackets: none.",)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FrameBrackets:
    """Angle brackets whose feet follow the frame's holes: ``designs`` that differ, and for each the
    numbers of its pads, from 0."""

    designs: tuple[BracketDesign, ...]
    of_pads: tuple[tuple[int, ...], ...]
    pads: tuple[MountingPad, ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        """One part a design, a placed copy a pad."""
        many = len(self.designs) > 1
        return tuple(
            replace(part, name=f"bracket-{number}" if many else part.name)
            for number, design in enumerate(self.designs, start=1)
            for part in design.parts
        )

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Every screw in its place; brackets are counted as their pads."""
        found = [
            _renumbered(one, numbers[one.on - 1] + 1)
            for design, numbers in zip(self.designs, self.of_pads, strict=True)
            for one in design.screws
        ]
        return tuple(sorted(found, key=lambda one: one.on))

    @property
    def bought(self) -> tuple[Bought, ...]:
        """Nothing but screws."""
        return ()

    @property
    def stand_mm(self) -> float:
        """The feet lie so far below the tub."""
        return STAND_MM

    @property
    def hold(self) -> Hold:
        """The farthest of all, and the least spread along the wall: safe for each."""
        holds = [design.hold for design in self.designs]
        return Hold(
            out_mm=max(one.out_mm for one in holds), below_mm=STAND_MM,
            apart_mm=min(one.apart_mm for one in holds),
        )  # fmt: skip

    def checks(
        self, pack: Pack, pads: Sequence[MountingPad], *, mass_kg: float
    ) -> tuple[Check, ...]:
        """None of their own: ``mount_use`` judges each by its own forces."""
        return ()

    def holds(
        self, body: HeldBody, lugs: Sequence[tuple[MountingPad, LugSize]]
    ) -> tuple[FrameHold, ...]:
        """Each on its feature, in the order of the pads."""
        found: list[tuple[int, FrameHold]] = []
        for design, numbers in zip(self.designs, self.of_pads, strict=True):
            made = design.holds(body, [lugs[number] for number in numbers])
            found += zip(numbers, made, strict=True)
        return tuple(
            replace(one, feature=self.pads[number].on)
            for number, one in sorted(found, key=lambda each: each[0])
        )

    def stiffness_n_mm(self, pack: Pack) -> tuple[float, float, float]:
        """The least of all, each way."""
        off, along, up = (
            min(each)
            for each in zip(*(one.stiffness_n_mm(pack) for one in self.designs), strict=True)
        )
        return off, along, up

    def plates(self, stack: Stack) -> tuple[Plate, ...]:
        """Those of each design."""
        many = len(self.designs) > 1
        return tuple(
            replace(plate, name=f"{plate.name}-{number}" if many else plate.name)
            for number, design in enumerate(self.designs, start=1)
            for plate in design.plates(stack)
        )

    def card_words(self, stack: Stack) -> tuple[str, ...]:
        """As for brackets that are all alike."""
        return self.designs[0].card_words(stack)


def brackets_on_frame(pack: Pack, pads: Sequence[MountingPad]) -> Bracket:
    """Brackets for pads that the solver has placed; none where there are no pads."""
    if not pads:
        return NoBrackets()
    groups: dict[tuple[object, ...], list[int]] = {}
    for number, pad in enumerate(pads):
        groups.setdefault(_foot_key(pad), []).append(number)
    numbers = tuple(tuple(group) for group in groups.values())
    return FrameBrackets(
        designs=tuple(design_on_holes(pack, [pads[k] for k in group]) for group in numbers),
        of_pads=numbers,
        pads=tuple(pads),
    )


def pads_of_part(bracket: Bracket, part: Part) -> tuple[int, ...]:
    """Numbers of the pads, from 0, that the copies of a bracket's part hang on."""
    if isinstance(bracket, FrameBrackets):
        return bracket.of_pads[[one.name for one in bracket.parts].index(part.name)]
    return tuple(range(len(part.placed)))


def _foot_key(pad: MountingPad) -> tuple[object, ...]:
    """Equal for pads whose brackets are the same part: seen from outside, left to right."""
    right = sum(pad.right)
    foot = sorted((round(u * right, ALIKE_DIGITS), round(v, ALIKE_DIGITS)) for u, v in pad.foot_mm)
    return (tuple(foot), pad.foot_screw, pad.foot_thick_mm, pad.screw, pad.high_mm)


def _renumbered(one: PlacedScrew, number: int) -> PlacedScrew:
    """A screw of one bracket told by the number of its pad."""
    return replace(
        one,
        on=number,
        name=f"{one.name.rsplit(' ', 1)[0]} {number}",
        heads=f"screw heads on bracket {number}",
    )
