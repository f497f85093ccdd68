"""What is known of a pair of device and stock, and what follows from it."""
