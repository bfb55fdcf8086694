"""Published screening rules and red-flag symptoms. The service informs; it never diagnoses or clears anyone."""
