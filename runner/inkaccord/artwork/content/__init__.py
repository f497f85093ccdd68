"""Following content streams byte by byte, to find their colours and to rewrite them."""
