"""Loads and local calendars, exact and without any framework."""
