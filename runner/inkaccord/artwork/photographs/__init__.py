"""Photographs from one pair to another, where an order asks for it."""
