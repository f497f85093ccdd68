"""The second flow: the readings and picks of a printed sheet are taken in, and kept.

:func:`~inkaccord.recording.sheet.take_in_sheet` for a sheet that was drawn here,
:func:`~inkaccord.recording.target.take_in_target` for a target of others. Both are given an open
shelf, and keep all of what they are given or nothing.
"""
