"""How the invented studio sets and draws its pieces; only the example uses it."""
