"""The only writers of the tables of programs."""
