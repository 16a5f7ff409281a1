"""Forms of enclosure, the vent path, lengths of the balance leads."""
