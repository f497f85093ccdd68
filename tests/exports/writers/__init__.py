"""One module for each kind of program: a design put into that program's own words."""
