#!/usr/bin/python3
"""Panels of lull-sim mosaic against their truth, by numpy, scipy and astropy alone.

mosaic_check.py FOLDER [--moments | --captures]    prints, a panel: the rms of what it shows besides the truth, over the noise that it
                          should have; the same with places taken from the truth 1 px beside; the correlation
                          of that rest between the half stacks

The rest is what is left of a panel after the scene at the places of truth.json, through the transfer function of a
short exposure (Fried 1966, J. Opt. Soc. Am. 56, 1372), and with gain, vignetting and offset, is subtracted.
With --moments the scene is that of the panel's own time.

With --captures, a panel of --frames: the rms of what its truth shows besides the scene at its places, in units of the
brightest light; the same with places 1 px beside; and of the mean of its frames, by least squares against that truth:
light and vignetting over those of truth.json.
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


def mean_frame(path):
    import cv2
    video, sum_of, count = cv2.VideoCapture(str(path)), 0, 0
    while True:
        read, frame = video.read()
        if not read:
            return sum_of / count
        sum_of, count = sum_of + frame[:, :, 1].astype(float), count + 1


def captures(folder, truth):
    scene = fits.getdata(folder / truth['picture']).astype(float)
    # Pixels of a capture have an area.
    pixel = np.sinc(np.fft.fftfreq(scene.shape[0]))[:, None] * np.sinc(np.fft.rfftfreq(scene.shape[1]))
    scene = np.fft.irfft2(np.fft.rfft2(scene) * pixel, scene.shape)
    width, height = truth['panel_px']
    y, x = np.mgrid[:height, :width]
    r = np.hypot(x - (width - 1) / 2, y - (height - 1) / 2) / np.hypot((width - 1) / 2, (height - 1) / 2)
    for panel in truth['panels']:
        capture = folder / panel['file']
        shown = fits.getdata(capture.with_suffix('.truth.fits')).astype(float)
        seen_x, seen_y = places(panel, width, height)
        rest = [np.sqrt(np.mean((shown - ndimage.map_coordinates(scene, [seen_y, seen_x + moved], order=3)) ** 2))
                for moved in (0, 1)]
        offset = json.loads(capture.with_suffix('.json').read_text())['parameters']['camera']['offset_adu']
        blurred = [ndimage.gaussian_filter(plane, 6)[16:-16, 16:-16].ravel()
                   for plane in (mean_frame(capture) - offset, shown, shown * r ** 2)]
        light, lost = np.linalg.lstsq(np.stack(blurred[1:], 1), blurred[0], rcond=None)[0]
        print(*rest, light / (255 * truth['level'] * panel['gain']), -lost / light / truth['vignetting'])


def main(folder, moments):
    truth = json.loads((folder / 'truth.json').read_text())
    if '--captures' in sys.argv:
        captures(folder, truth)
        return
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
