"""How far each layer of a pack is lifted where it is pulled apart, in heights of a can."""

from __future__ import annotations

__all__ = ["ASIDE_MM", "SPARE_MM", "lift_mm"]

SPARE_MM = 20.0  # a step is a can's length and this
ASIDE_MM = {"bracket": 62.0, "gland": 46.0, "board": 62.0, "lead": 78.0}
# From below; judged by eye: each layer shows most of the one beneath it.
_STEPS = {
    "floor strap": -0.2,
    "tub": 0.0,
    "floor sheet": 0.62,
    "beside": 1.15,
    "lower metal": 1.2,
    "lower nuts": 1.42,
    "lower holder": 1.55,
    "cells": 2.3,
    "paper": 3.22,
    "upper holder": 4.2,
    "upper metal": 4.6,
    "ties": 5.05,
    "lid sheet": 5.3,
    "clamp": 5.45,
    "lid": 5.65,
    "lid strap": 5.85,
}


def lift_mm(layer: str, can_mm: float) -> float:
    """Of one layer, by its name."""
    return _STEPS[layer] * (can_mm + SPARE_MM)
