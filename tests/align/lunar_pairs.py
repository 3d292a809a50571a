"""Pairs of noisy lunar patches with a known shift, and what scikit-image finds for them.

lunar_pairs.py OUT SIDE SIGMA COUNT SEED

The scene is the lunar photograph that comes with scikit-image (Debian: python3-skimage), moved by a
Fourier phase ramp of the whole picture, from which both patches are cut; white noise of SIGMA (of 255)
is added to each. Writes float64: for each pair dx, dy, the Cramer-Rao bounds of x and y, scikit-image's
dx and dy, and then both patches, row by row.
"""
import sys

import numpy as np
import skimage.data
from skimage.registration import phase_cross_correlation

out, side, sigma, count, seed = sys.argv[1], int(sys.argv[2]), float(sys.argv[3]), int(sys.argv[4]), int(sys.argv[5])
random = np.random.default_rng(seed)
moon = skimage.data.moon().astype(float)
spectrum = np.fft.fft2(moon)
fy, fx = np.fft.fftfreq(moon.shape[0])[:, None], np.fft.fftfreq(moon.shape[1])[None]
with open(out, "wb") as file:
    for _ in range(count):
        dx, dy = random.uniform(-3, 3, 2)
        moved = np.fft.ifft2(spectrum * np.exp(-2j * np.pi * (fx * dx + fy * dy))).real
        y, x = (random.integers(16, n - side - 16) for n in moon.shape)
        clean = moon[y:y + side, x:x + side]
        first = clean + random.normal(0, sigma, clean.shape)
        second = moved[y:y + side, x:x + side] + random.normal(0, sigma, clean.shape)
        gy, gx = np.gradient(clean)
        information = np.array([[(gx * gx).sum(), (gx * gy).sum()], [(gx * gy).sum(), (gy * gy).sum()]])
        bound = np.sqrt(2 * sigma ** 2 * np.linalg.inv(information).diagonal())
        found = phase_cross_correlation(first, second, upsample_factor=100)[0]
        np.array([dx, dy, *bound, -found[1], -found[0]]).tofile(file)
        first.tofile(file)
        second.tofile(file)
