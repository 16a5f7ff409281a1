"""Which row of the bill a thing belongs to, and why a row has none."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from generators.exports.bill import BillRow

__all__ = ["NOT_DRAWN", "UNKNOWN", "row_of", "undrawn_rows"]

# Rows without a thing, by how their item begins, and why. Where a row of one of these has a thing
# in a pack, it is drawn there all the same.
NOT_DRAWN = {
    "work on the joints": "no part",
    "time on the printer": "no part",
    "filament": "what the parts are printed from",
    "balance leads": "laid at the bench, by the build sheet",
    "charge port fuse": "in the charge leads, outside of the pack",
    "BMS board": "its place is not planned",
    "main fuse": "its place is not planned",
    "main lead wire": "its way is not planned",
    "plastic shim": "as many as the gauged lid needs",
    "foam tape": "stuck on crests at the bench",
    "sponge tape": "stuck round the vent's opening at the bench",
    "disc magnet": "under the vent cover",
    "breathing membrane": "stuck on the vent cover at the bench",
    "metal plate of the machine": "no part of the pack",
    "glass-fibre tape": "wound round both holders at the bench",
}
# the length of all strips together: its pieces have rows of their own
ALL_TOGETHER = "strip, all pieces together"
UNKNOWN = "not drawn"


def row_of(bill: Sequence[BillRow], item: str, size: str = "") -> int:
    """Number, from 1, of the one row whose item begins so, with that size ("" for any).

    Raises LookupError where there is none, or more than one."""
    found = [
        number
        for number, row in enumerate(bill, start=1)
        if row.item.startswith(item) and size in ("", row.size)
    ]
    if len(found) != 1:
        raise LookupError(f"{len(found)} rows of the bill for {item!r}, {size!r}")
    return found[0]


def undrawn_rows(bill: Sequence[BillRow], drawn: Collection[int]) -> Mapping[int, str]:
    """Rows without a thing, each with the reason."""
    return {
        number: _why(row.item) for number, row in enumerate(bill, start=1) if number not in drawn
    }


def _why(item: str) -> str:
    if item.endswith(ALL_TOGETHER):
        return "the strips above, as bought"
    return next((why for start, why in NOT_DRAWN.items() if item.startswith(start)), UNKNOWN)
