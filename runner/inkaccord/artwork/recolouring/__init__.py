"""Recolouring: a copy in which named colours have new builds and nothing else is changed."""
