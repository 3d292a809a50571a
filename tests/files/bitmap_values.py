"""Holds what OpenCV reads from a picture file against raw samples: FILE RAW WIDTH HEIGHT CHANNELS MOST MEAN."""
import sys

import cv2
import numpy as np

file, raw, width, height, channels, most, mean = sys.argv[1:]
shape = (int(height), int(width)) + ((3,) if channels == "3" else ())
expected = np.fromfile(raw, np.uint8).reshape(shape).astype(int)
found = cv2.imread(file, cv2.IMREAD_UNCHANGED)
if found.ndim == 3:
    found = found[:, :, ::-1]
if found.shape != shape:
    sys.exit(f"{found.shape} instead of {shape}")
difference = np.abs(found.astype(int) - expected)
if difference.max() > float(most) or difference.mean() > float(mean):
    sys.exit(f"differs by up to {difference.max()}, {difference.mean():.2f} on the mean")
