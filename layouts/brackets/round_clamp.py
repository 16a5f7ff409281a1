"""The clamp for a round tube of the frame, in two parts: see ``tube_clamp``."""

from __future__ import annotations

from layouts.brackets.tube_clamp import TubeClamp

__all__ = ["KIND"]

KIND = TubeClamp(name="round_clamp", square=False)
