"""References for tests/merge: scipy.ndimage and skimage on planes of doubles.

    parts.py gaussian IN OUT WIDTH HEIGHT SIGMA
    parts.py reduce IN OUT WIDTH HEIGHT SIDE
"""
import sys

import numpy
from scipy import ndimage
from skimage.measure import block_reduce

work, source, target = sys.argv[1:4]
width, height = int(sys.argv[4]), int(sys.argv[5])
plane = numpy.fromfile(source).reshape(height, width)
if work == "gaussian":
    # 'reflect' repeats the sample at the edge.
    out = ndimage.gaussian_filter(plane, float(sys.argv[6]), mode="reflect", truncate=6)
else:
    side = int(sys.argv[6])
    whole = plane[: height // side * side, : width // side * side]
    out = block_reduce(whole, (side, side), numpy.mean)
out.astype(numpy.float32).tofile(target)
