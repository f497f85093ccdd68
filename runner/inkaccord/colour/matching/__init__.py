"""The match: the build for a wanted colour, many colours at once. `match` is the door."""
