"""From where pictures are drawn; a module of its own, since the drawing process loads it."""

from __future__ import annotations

__all__ = ["VIEW_FROM_ABOVE"]

# Direction from a part to the eye that draws it
VIEW_FROM_ABOVE = (1.0, -1.4, 1.1)
