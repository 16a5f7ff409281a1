"""Measured cells sorted into groups: rejects, groups of even capacity, a site for every cell."""
