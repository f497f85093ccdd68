"""Readings come back: files of many shapes, made out, checked against the sheet, or refused."""
