"""The proof of a recoloured copy, from the two files alone."""
