"""Which brackets hold a pack on the features of a frame, and how well they do."""
