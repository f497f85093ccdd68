"""The order: what one YAML job file describes, and loading it with every mistake in place."""
