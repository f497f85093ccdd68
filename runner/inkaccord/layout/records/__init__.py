"""Records laid over a template page: a table's lines, set in fields, on a page for each copy."""
