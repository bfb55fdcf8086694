"""Commands of programs."""
