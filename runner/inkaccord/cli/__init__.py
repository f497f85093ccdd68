"""The command line: one small file for each command. It parses, calls and shows; no more."""

import os

# What libraries ask of the environment when they are loaded, which comes after this.
# numpy: our matrices are small. A second thread is waited for longer than it works, on a busy
# machine several times as long; and one thread always adds up in one order.
os.environ.setdefault("OMP_NUM_THREADS", "1")
# pydantic: nobody's plugin looks into our values, and none is looked for in all that is installed.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
