#!/usr/bin/python3
"""Panels of lull-sim mosaic against their truth, by numpy, scipy and astropy alone.

mosaic_check.py FOLDER [--moments]    prints, a panel: the rms of what it shows besides the truth, over the noise that it
                          should have; the same with places taken from the truth 1 px beside; the correlation
                          of that rest between the half stacks

The rest is what is left of a panel after the scene at the places of truth.json, through the transfer function of a
short exposure (Fried 1966, J. Opt. Soc. Am. 56, 1372), and with gain, vignetting and offset, is subtracted.
With --moments the scene is that of the panel's own time.
"""
import json
import sys
from pathlib import Path

import numpy as np
from astropy.io import fits
from scipy import ndimage
from scipy.interpolate import RectBivariateSpline


def through_air(scene, d_over_r0, cutoff):
    fy = np.fft.fftfreq(scene.shape[0])[:, None]
    fx = np.fft.rfftfreq(scene.shape[1])[None, :]
    share = np.minimum(np.hypot(fx, fy) / cutoff, 1)
    air = np.exp(-3.44 * (d_over_r0 * share) ** (5 / 3) * (1 - share ** (1 / 3)))
    return np.fft.irfft2(np.fft.rfft2(scene) * air, scene.shape)


def places(panel, width, height):
    grid = panel['grid']
    shape = (len(grid['rows_px']), len(grid['columns_px']))
    return [RectBivariateSpline(grid['rows_px'], grid['columns_px'], np.reshape(grid[axis], shape))(
        np.arange(height), np.arange(width)) for axis in 'xy']


def main(folder, moments):
    truth = json.loads((folder / 'truth.json').read_text())
    scene = fits.getdata(folder / truth['picture']).astype(float)
    width, height = truth['panel_px']
    y, x = np.mgrid[:height, :width]
    r = np.hypot(x - (width - 1) / 2, y - (height - 1) / 2) / (np.hypot(width, height) / 2)
    inside = (slice(8, -8), slice(8, -8))
    for panel in truth['panels']:
        light, difference = (fits.getdata(folder / panel['file'], name).astype(float) for name in (0, 'NOISE'))
        seen_x, seen_y = places(panel, width, height)
        if moments:
            scene = fits.getdata(folder / panel['moment']['file']).astype(float)
            left, top = panel['moment']['corner_px']
            seen_x, seen_y = seen_x - left, seen_y - top
        air = through_air(scene, panel['d_over_r0'], truth['cutoff_cycles_per_px'])

        def rest(moved):
            seen = ndimage.map_coordinates(air, [seen_y, seen_x + moved], order=3, mode='mirror')
            level = truth['level'] * panel['gain'] * (1 - truth['vignetting'] * r ** 2) * np.maximum(seen, 0)
            noise = panel['noise'] * np.sqrt(truth['dark_noise'] ** 2 + level / truth['level'])
            return ((light - level - panel['offset']) / noise)[inside], noise[inside]

        best, noise = rest(0)
        halves = [(best + sign * difference[inside] / noise).ravel() for sign in (1, -1)]
        print(np.sqrt(np.mean(best ** 2)), np.sqrt(np.mean(rest(1)[0] ** 2)), np.corrcoef(*halves)[0, 1])


main(Path(sys.argv[1]), '--moments' in sys.argv)
