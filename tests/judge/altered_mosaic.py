#!/usr/bin/python3
"""Mosaics with known errors, made from the truth of lull-sim mosaic by numpy and scipy, and what these are.

altered_mosaic.py FOLDER OUT ERRORS OUT ERRORS ...    prints, a line each, the distortion (px rms) to be found

ERRORS: KEY=VALUE,KEY=VALUE... or -
turn=DEGREES scale=FACTOR bend=PX step=SHARE blur=PX noise=SHARE empty=SHARE
The step stands at the left border of the panel of column 1 and row 0.
"""
import json
import os
import sys
from pathlib import Path

os.environ['OPENBLAS_NUM_THREADS'] = '1'  # more of them only wait for each other
import numpy as np
from astropy.io import fits
from scipy import ndimage

folder = Path(sys.argv[1])
truth = json.loads((folder / 'truth.json').read_text())
picture = fits.getdata(folder / 'truth.fits').astype(float)
height, width = picture.shape
y, x = np.mgrid[:height, :width].astype(float)


def beyond_border():
    """Which places lie to the right of the border, taken as a straight line."""
    panel = next(p for p in truth['panels'] if (p['column'], p['row']) == (1, 0))
    grid = panel['grid']
    shape = (len(grid['rows_px']), len(grid['columns_px']))
    column = 0 if np.cos(panel['turn_rad']) > 0 else -1
    b, a = np.polyfit(np.reshape(grid['y'], shape)[:, column], np.reshape(grid['x'], shape)[:, column], 1)
    return x > a + b * y


def left_of(move_x, move_y):
    """rms of displacements less the best shift, turn and scale."""
    one, none = np.ones(x.size), np.zeros(x.size)
    u, v = x.ravel() - x.mean(), y.ravel() - y.mean()
    rows = np.concatenate([np.stack([one, none, u, -v], -1), np.stack([none, one, v, u], -1)])
    moves = np.concatenate([move_x.ravel(), move_y.ravel()])
    rest = moves - rows @ np.linalg.solve(rows.T @ rows, rows.T @ moves)
    return np.sqrt(2 * np.mean(rest ** 2))


def altered(turn=0, scale=1, bend=0, step=0, blur=0, noise=0, empty=0):
    scene = picture * (1 + step * beyond_border())
    if blur:
        scene = ndimage.gaussian_filter(scene, blur)
    angle = np.deg2rad(turn)
    dx, dy = (x - (width - 1) / 2) / scale, (y - (height - 1) / 2) / scale
    u = (width - 1) / 2 + np.cos(angle) * dx + np.sin(angle) * dy
    v = (height - 1) / 2 - np.sin(angle) * dx + np.cos(angle) * dy
    move_x, move_y = bend * np.sin(v / 60), bend * np.sin(u / 60)  # waves far longer than a patch
    if turn or bend or scale != 1:
        scene = ndimage.map_coordinates(scene, [v + move_y, u + move_x], order=3, mode='nearest')
    seen = 0.8 * scene + 0.02 + noise * np.random.default_rng(5).normal(size=scene.shape)
    seen[:, width - int(empty * width):] = 0
    return seen, left_of(move_x, move_y)


for out, errors in zip(sys.argv[2::2], sys.argv[3::2]):
    given = dict(word.split('=') for word in errors.split(',') if '=' in word)
    seen, distortion = altered(**{key: float(value) for key, value in given.items()})
    fits.writeto(out, seen.astype(np.float32), overwrite=True)
    print(distortion)
