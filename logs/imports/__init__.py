"""Tables of past logs: reading files, guessing what columns mean, and typed rows with every fault at its cell."""
