"""The business in scope, and the row-level security under it."""
