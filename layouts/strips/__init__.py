"""Strips on both faces, and what of the lip they leave."""
