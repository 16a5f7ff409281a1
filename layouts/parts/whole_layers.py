"""Heights in whole layers of the printer: a slicer rounds any other, up or down as it likes."""

from __future__ import annotations

import math

__all__ = ["layers_down_mm", "layers_up_mm", "whole_layers"]

NOISE_LAYERS = 1e-6  # float noise: 3.0 mm are 15 layers of 0.2
DIGITS = 6


def layers_up_mm(height_mm: float, layer_mm: float) -> float:
    """The least whole number of layers that is no lower, as a height."""
    return round(math.ceil(height_mm / layer_mm - NOISE_LAYERS) * layer_mm, DIGITS)


def layers_down_mm(height_mm: float, layer_mm: float) -> float:
    """The greatest whole number of layers that is no higher, as a height."""
    return round(math.floor(height_mm / layer_mm + NOISE_LAYERS) * layer_mm, DIGITS)


def whole_layers(height_mm: float, layer_mm: float) -> bool:
    """Whether a height is a whole number of layers, within a thousandth of one."""
    layers = height_mm / layer_mm
    return abs(layers - round(layers)) < 1e-3
