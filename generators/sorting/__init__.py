"""Measured cells sorted for a pack: table, plan with labels, labels to cut out, figures."""
