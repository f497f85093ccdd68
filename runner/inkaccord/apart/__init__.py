"""What is not ours, run apart: in worker processes with limits on memory and processor time.

PDFium, Ghostscript, Pillow, zxing and qpdf read files of strangers. A file made to harm, or only
damaged, may have them run for hours, fill the memory or fall; a worker ends then, cleanly, and
whoever asked is told by a finding. How it is used::

    drawn = answers(draw_pages, Allowance("PDFium", seconds=60, mib=1024), data=data, scale=2.0)

The task (``draw_pages``) is a generator function in a module that imports nothing of ours, since a
worker loads that module alone and starts in some 20 ms; it takes and yields numbers, texts, lists
and dictionaries of them, and bytes under a key of its own. :func:`~inkaccord.apart.crew.answers`
gives what it yields as it comes; :func:`~inkaccord.apart.crew.answer` the one thing of a task that
yields once; :func:`~inkaccord.apart.crew.run_program` runs another program in the same way.
"""
