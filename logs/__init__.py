"""Logs, weekly figures, flags, alerts."""
