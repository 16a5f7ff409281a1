"""Does the finished pack fit its space: pose, smallest gap, insertion path."""
