"""Pairs of noisy lunar patches with a known shift, and what scikit-image finds for them.

lunar_pairs.py OUT COUNT SEED SIDE,... SIGMA,...

The scene is the lunar photograph that comes with scikit-image (Debian: python3-skimage), moved by a
Fourier phase ramp of the whole picture, from which both patches are cut; white noise of SIGMA (of 255)
is added to each. Writes OUT-SIDE-SIGMA for each of both, COUNT pairs of float64: dx, dy, the Cramer-Rao bounds
of x and y, scikit-image's dx and dy, and then both patches, row by row. Pairs of one side differ by the strength of
their noise alone; the seed of a side is SEED + SIDE.
"""
import sys

import numpy as np
import skimage.data
from skimage.registration import phase_cross_correlation

out, count, seed = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
sides, sigmas = [int(side) for side in sys.argv[4].split(",")], sys.argv[5].split(",")
moon = skimage.data.moon().astype(float)
spectrum = np.fft.fft2(moon)
fy, fx = np.fft.fftfreq(moon.shape[0])[:, None], np.fft.fftfreq(moon.shape[1])[None]


def write_pair(file, clean, moved, noise, sigma, movement):
    first, second = clean + sigma * noise[0], moved + sigma * noise[1]
    gy, gx = np.gradient(clean)
    information = np.array([[(gx * gx).sum(), (gx * gy).sum()], [(gx * gy).sum(), (gy * gy).sum()]])
    bound = np.sqrt(2 * sigma ** 2 * np.linalg.inv(information).diagonal())
    found = phase_cross_correlation(first, second, upsample_factor=100)[0]
    np.array([*movement, *bound, -found[1], -found[0]]).tofile(file)
    first.tofile(file)
    second.tofile(file)


for side in sides:
    random = np.random.default_rng(seed + side)
    files = {sigma: open(f"{out}-{side}-{sigma}", "wb") for sigma in sigmas}
    for _ in range(count):
        dx, dy = random.uniform(-3, 3, 2)
        y, x = (random.integers(16, n - side - 16) for n in moon.shape)
        moved = np.fft.ifft2(spectrum * np.exp(-2j * np.pi * fy * dy) * np.exp(-2j * np.pi * fx * dx)).real
        place = np.s_[y:y + side, x:x + side]
        noise = random.standard_normal((2, side, side))
        for sigma, file in files.items():
            write_pair(file, moon[place], moved[place], noise, float(sigma), (dx, dy))
    for file in files.values():
        file.close()
