"""The printed page: swatches with their builds, heading, marks; decks in binders and on rings."""
