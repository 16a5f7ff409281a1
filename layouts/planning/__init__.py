"""The planning of one pack: estimates, steps in order, its mass and its clearances."""
