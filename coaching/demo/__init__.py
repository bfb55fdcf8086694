"""The demo: an invented business whose truth is known, played through the public HTTP API."""
