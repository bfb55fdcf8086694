"""The shared exercise catalogue: data files, their vocabulary, and the reader that checks them."""
