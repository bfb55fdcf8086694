"""Reads of the app."""
