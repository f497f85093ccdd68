"""The page: an order in the browser of the person's own machine, over the rooms that the commands use."""
