#!/usr/bin/python3
"""Reference figures for the tests of tools/judge, from Debian's scipy and scikit-image.

references.py similarity WIDTH HEIGHT RANGE A B     SSIM and PSNR (dB) of scikit-image
references.py blur WIDTH HEIGHT IN OUT SIGMA,TRUNCATE...    one blurred image after another
references.py cosine WIDTH HEIGHT IN OUT
references.py spline WIDTH HEIGHT IN PLACES OUT     PLACES: all x, then all y

Files hold raw doubles.
"""
import sys

import numpy as np
from scipy import fft, ndimage
from skimage.metrics import peak_signal_noise_ratio, structural_similarity


def image(path, width, height):
    return np.fromfile(path, float).reshape(int(height), int(width))


def similarity(width, height, data_range, a, b):
    a, b = image(a, width, height), image(b, width, height)
    print(structural_similarity(a, b, gaussian_weights=True, sigma=1.5, use_sample_covariance=False,
                                data_range=float(data_range)),
          peak_signal_noise_ratio(a, b, data_range=float(data_range)))


def blur(width, height, source, target, *blurs):
    sharp = image(source, width, height)
    with open(target, 'wb') as file:
        for sigma, truncate in (map(float, words.split(',')) for words in blurs):
            ndimage.gaussian_filter(sharp, sigma, truncate=truncate).tofile(file)


def cosine(width, height, source, target):
    fft.dctn(image(source, width, height), norm='ortho').tofile(target)


def spline(width, height, source, places, target):
    x, y = np.fromfile(places, float).reshape(2, -1)
    ndimage.map_coordinates(image(source, width, height), [y, x], order=5, mode='mirror').tofile(target)


{'similarity': similarity, 'blur': blur, 'cosine': cosine, 'spline': spline}[sys.argv[1]](*sys.argv[2:])
