#!/usr/bin/python3
"""Ring sums of two pictures by NumPy and SciPy, for ring_sums_test.cpp.

ring_sums.py WIDTH HEIGHT RINGS FILE     FILE: both pictures, raw doubles

Writes text, a ring a line: cross, first, second, bins. The window is SciPy's Tukey window of the half-sample
kind: that of twice the samples and one more, every second one of it.
"""
import sys

import numpy as np
from scipy.signal.windows import tukey

width, height, count = map(int, sys.argv[1:4])
pictures = np.fromfile(sys.argv[4], float).reshape(2, height, width)


def window(length):
    return tukey(2 * length + 1, 0.5)[1::2]


weights = np.outer(window(height), window(width))
a, b = (np.fft.fft2((p - np.average(p, weights=weights)) * weights) for p in pictures)


def frequencies(length):
    """Quotients of whole numbers, so that those on the border of two rings fall on the same side everywhere."""
    return np.round(np.fft.fftfreq(length) * length) / length


frequency = np.hypot(frequencies(height)[:, None], frequencies(width)[None])
ring = np.floor(frequency * 2 * count).astype(int)
for i in range(count):
    inside = ring == i
    print(*(repr(float(v)) for v in ((a.conj() * b).real[inside].sum(), (abs(a) ** 2)[inside].sum(),
                                     (abs(b) ** 2)[inside].sum(), inside.sum())))
