"""What paper could settle, what only a person can say, and the sheets and questions for it."""
