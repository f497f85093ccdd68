"""What flows through a run: the values that stages pass, and the record of them."""
