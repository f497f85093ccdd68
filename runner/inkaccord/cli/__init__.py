"""The command line: one small file for each command. It parses, calls and shows; no more."""
