"""Whether the pieces agree, how sure that is, and where they meet when one pair falls short."""
