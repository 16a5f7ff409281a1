"""Example pack files, invented for this tool."""
