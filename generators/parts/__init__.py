"""Printed parts: one part a module, from its design to body, bores and formula."""
