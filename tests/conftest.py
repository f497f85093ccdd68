"""What holds for every test: numpy works in one thread, as it does in the command."""

import os

os.environ.setdefault("OMP_NUM_THREADS", "1")
