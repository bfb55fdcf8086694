"""The app's HTTP API."""
