"""Commands of logs."""
