"""The HTTP API of `coaching`."""
