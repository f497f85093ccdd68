"""Planning: what could change a verdict, what that costs, and what only a person can say."""
