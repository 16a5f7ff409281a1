"""Does the finished pack fit its space: pose, smallest gap, the way in."""
