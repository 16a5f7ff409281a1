"""Printed parts: what all of them have in common."""
