"""What can be seen of an order before anything is read."""
