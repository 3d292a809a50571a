#!/usr/bin/python3
"""Reference figures for the tests of src/finish, from Debian's scikit-image.

references.py wiener WIDTH HEIGHT FWHM BALANCE IN OUT     Wiener filter for a Gaussian blur

Files hold raw doubles.
"""
import sys

import numpy as np
from skimage import restoration


def wiener(width, height, fwhm, balance, source, result):
    height, width = int(height), int(width)
    picture = np.fromfile(source, float).reshape(height, width)
    fy, fx = np.fft.fftfreq(height)[:, None], np.fft.rfftfreq(width)[None, :]
    sigma = float(fwhm) / (2 * np.sqrt(2 * np.log(2)))
    transfer = np.exp(-2 * (np.pi * sigma) ** 2 * (fy**2 + fx**2))
    # Power of noise over power of signal the same everywhere: a regularisation of 1.
    restored = restoration.wiener(picture, transfer.astype(complex), float(balance),
                                  reg=np.ones_like(transfer, complex), is_real=True, clip=False)
    restored.tofile(result)


wiener(*sys.argv[2:])
