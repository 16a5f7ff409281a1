"""Suggestions on screen and in files: cells read, sweeps over many processes, tables, plot."""
