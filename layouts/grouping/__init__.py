"""Grouping placed cells: S connected groups of P along one path."""
