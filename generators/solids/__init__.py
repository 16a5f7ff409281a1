"""Solids and meshes of bodies made of slabs, from one exact plan of lines and arcs."""
