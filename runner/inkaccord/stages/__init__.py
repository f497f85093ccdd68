"""The stages of an order, one thin file each: typed values in, the domain called, values out."""
