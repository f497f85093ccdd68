"""The colour engine: from the readings of a few printed swatches to builds that agree.

A library of its own: numpy in, numpy out. It imports no stage, hook, database or screen.
"""
