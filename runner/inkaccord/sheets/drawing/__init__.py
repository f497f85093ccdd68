"""The printed page: swatches with their builds, heading, marks; sets in binders and on rings."""
