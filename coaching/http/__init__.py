"""HTTP: how requests are read, allowed, retried and refused; shared by the API of every app."""
