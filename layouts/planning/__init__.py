"""The planning of one pack: estimates, steps in order, what it weighs and what room it needs."""
