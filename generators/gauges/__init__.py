"""Files of the fit gauge: the part, its sheet, the form of readings, the printer's profile."""
