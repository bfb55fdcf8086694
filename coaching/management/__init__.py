"""Commands of the operator."""
