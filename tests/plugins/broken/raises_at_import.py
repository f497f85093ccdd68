raise RuntimeError("no good today")
