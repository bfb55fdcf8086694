"""Writes of the app: each in one transaction."""
