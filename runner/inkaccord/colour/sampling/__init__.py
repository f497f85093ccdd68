"""Which swatches to print: for a model, for a deck that the eye reads, for a pick by eye."""
