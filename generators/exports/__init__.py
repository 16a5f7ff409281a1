"""Files: STEP, STL, 3MF and the bill of materials, the same bytes from the same input."""
