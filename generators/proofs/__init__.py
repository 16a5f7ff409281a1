"""Proofs on meshes and solids: each part alone, and all of them together."""
