"""Documents that people read: rendering from what selectors return, without queries."""
