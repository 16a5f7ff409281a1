"""One module a command: its arguments, and what it calls and prints."""
