"""Exercise catalogue, prescriptions, versions, assignments, calendars."""
