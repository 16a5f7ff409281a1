"""The forms of enclosure that there are."""

from __future__ import annotations

from layouts.enclosures.box.form import BOX
from layouts.enclosures.fitted.form import FITTED
from layouts.enclosures.form import EnclosureForm
from layouts.pack import Pack

__all__ = ["FORMS", "form_of"]

FORMS: dict[str, EnclosureForm] = {form.name: form for form in (BOX, FITTED)}


def form_of(pack: Pack) -> EnclosureForm | None:
    """The form that the pack asks for; None where it has no enclosure of its own."""
    return FORMS.get(pack.enclosure.style.value)
