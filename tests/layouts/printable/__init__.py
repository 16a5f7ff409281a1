"""Checks of printed shapes."""
