"""Files into numbers and numbers into files; knows nothing of classes."""

import os

from audio.inherited import ONE_THREAD

os.environ.update(ONE_THREAD | os.environ)  # before NumPy is loaded
