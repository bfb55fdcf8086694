"""What a prescription says and what follows from it: pure computation, no framework, no database, no clock."""
