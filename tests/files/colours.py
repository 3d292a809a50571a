"""Error of a picture in 256 colours by PIL's median cut, without dithering: rms levels.

    colours.py RGB WIDTH HEIGHT
"""
import sys

import numpy
from PIL import Image

width, height = int(sys.argv[2]), int(sys.argv[3])
rgb = numpy.fromfile(sys.argv[1], numpy.uint8).reshape(height, width, 3)
picture = Image.fromarray(rgb)
cut = picture.quantize(256, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE).convert("RGB")
print(numpy.sqrt(numpy.mean((rgb.astype(float) - numpy.asarray(cut, float)) ** 2)))
