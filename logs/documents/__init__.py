"""What `logs` writes out for people: rendering, no queries."""
