"""The page: orders in the browser of one's own machine, over the rooms that the commands use."""
