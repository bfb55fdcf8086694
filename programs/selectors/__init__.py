"""Reads of the tables of programs."""
