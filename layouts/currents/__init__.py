"""Currents: the resistor network of cells and strips as laid."""
