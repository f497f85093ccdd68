"""Which swatches stand where: on an order's sheet, and through the pages of a swatch set."""
