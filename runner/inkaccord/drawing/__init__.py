"""The drawing kit: one typeface, one reproducible canvas, for every sheet and list we draw."""
