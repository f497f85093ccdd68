"""Reading sample sheets from a flatbed scan.

picture → the sheet found by its code and marks → squared → swatches averaged → calibrated on the
swatches of this very scan whose readings are known.
"""
