"""Colour spaces, functions, shadings and meshes of PDF files, and the colours they give."""
