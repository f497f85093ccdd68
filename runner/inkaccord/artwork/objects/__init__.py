"""What the objects of a PDF say: streams, functions, colour spaces, shadings, boxes, fonts."""
