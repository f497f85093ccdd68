"""Imposition: which pieces go on which sheet, how a guillotine cuts them, and the PDF of it.

Imports no stage, hook, database or screen.
"""
