"""How parts are printed: layers, time, filament and cost; which part goes on which bed."""
