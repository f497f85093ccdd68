"""The general PDF layer: what a file holds, read and written, whatever it shows."""
