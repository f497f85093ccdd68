"""Reading pages into marks: everything that is painted, with its colour, place and size."""
