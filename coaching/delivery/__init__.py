"""The only code that talks to the outside."""
