"""What would fit into a space: candidates, their fit, and their rank."""
