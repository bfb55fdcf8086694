"""What the logs of a week and of a client say: pure figures and rules, with their grounds."""
