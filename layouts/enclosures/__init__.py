"""Tub, lid and brackets, and the way out for gas."""
