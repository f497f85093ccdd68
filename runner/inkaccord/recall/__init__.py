"""What was computed before is not computed again: results kept by the values they follow from."""
