"""Tub, lid and brackets, and the vent path."""
