"""The fit gauge: a printed part that tells how a printer departs from what is drawn."""
