"""Numbers: where cells, strips and parts go, and whether they are sound.

Pure functions on frozen values. This package never imports ``generators``,
CadQuery, trimesh, pydantic or YAML: planning a pack must not load the CAD kernel.
"""
