"""What ``inkaccord new`` and ``inkaccord plugins new`` write: a first order, a first plugin."""
