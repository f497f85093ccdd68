"""Which swatches to print: for a model, for a swatch set that the eye reads, for a pick by eye."""
