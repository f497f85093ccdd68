"""Order sheets, the packing list and the report: what people read of a run.

Everything here is made from the record of the run, the order, the artwork and what is known of
each pair. It returns bytes and writes nothing.
"""
