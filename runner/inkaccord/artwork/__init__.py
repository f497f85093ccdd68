"""Artwork PDFs: what colours they hold, recolouring them, and the proof of the result.

Imports no stage, hook, database or screen.
"""
