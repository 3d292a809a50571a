#!/usr/bin/python3
"""Inputs whose runs take some seconds, to be interrupted: long_runs.py FOLDER CAPTURE, a SER file of 8 bits"""
import os
import struct
import sys

import numpy as np
from astropy.io import fits

folder, capture = sys.argv[1:]
rng = np.random.default_rng(1)


def disc(width, height):
    y, x = np.mgrid[:height, :width]
    return np.hypot(y - height / 2, x - width / 2) < height / 3


def write_ser(name, width, height, frames):
    """The header of the capture with another size (bytes 26 and 30) and count (38), then frames."""
    header = bytearray(open(capture, "rb").read(178))
    struct.pack_into("<2i", header, 26, width, height)
    struct.pack_into("<i", header, 38, frames)
    shown = 60 + 120 * disc(width, height)
    some = [np.clip(shown + rng.normal(0, 4, shown.shape), 0, 255).astype("u1").tobytes() for _ in range(8)]
    with open(os.path.join(folder, name), "wb") as file:
        file.write(header)
        for i in range(frames):
            file.write(some[i % 8])


light = 0.1 + 0.5 * disc(4000, 3000) + rng.normal(0, 0.003, (3000, 4000))
fits.writeto(os.path.join(folder, "large.fits"), light.astype(np.float32))
write_ser("tiny.ser", 32, 32, 100_000)
write_ser("large.ser", 2000, 1500, 60)
