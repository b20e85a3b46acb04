"""Human techniques, one family a file, and the repertoires made of them."""
