"""Types of arrays, by what they hold; shapes and units stand where one is used."""

import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
I32 = NDArray[np.int32]
I64 = NDArray[np.int64]
Mask = NDArray[np.bool_]
