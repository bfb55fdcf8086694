"""Views: parse, one action or selector, show."""
