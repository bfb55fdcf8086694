"""The HTTP API of programs."""
