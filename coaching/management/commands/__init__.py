"""Commands of the operator, by name."""
