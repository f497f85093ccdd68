"""Reading sample sheets from a flatbed scan, or from a photograph.

picture → the sheet found by its code and marks → squared → swatches averaged → its uneven light
taken out by the bare paper → calibrated on the
swatches of this very scan whose readings are known.
"""
