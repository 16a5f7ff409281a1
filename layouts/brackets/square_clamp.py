"""The clamp for a square tube of the frame, in two parts: see ``tube_clamp``."""

from __future__ import annotations

from layouts.brackets.tube_clamp import TubeClamp

__all__ = ["KIND"]

KIND = TubeClamp(name="square_clamp", square=True)
