"""Sample sheets: what to print, laying it out, drawing it, and reading it back.

Imports no stage, hook, database or screen.
"""
