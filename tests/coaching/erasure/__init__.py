"""Erasing a client, searched for in the whole database."""
