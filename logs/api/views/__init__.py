"""Views: parse, one action or selector, serialise."""
