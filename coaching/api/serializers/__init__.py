"""What bodies hold, as they are sent and answered."""
