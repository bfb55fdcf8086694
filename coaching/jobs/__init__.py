"""Work in the background, as data."""
