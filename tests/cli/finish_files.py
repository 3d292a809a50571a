#!/usr/bin/python3
"""Pictures that `lull finish` has to warn of or to refuse, made with Debian's numpy, OpenCV, tifffile,
Pillow and astropy: finish_files.py FOLDER"""
import os
import sys
import zlib

import cv2
import numpy as np
import tifffile
from astropy.io import fits
from PIL import Image, ImageCms

folder = sys.argv[1]
rng = np.random.default_rng(7)
smooth = cv2.GaussianBlur(rng.random((96, 128)), (0, 0), 3)
light = (smooth - smooth.min()) / np.ptp(smooth) * 0.8 + 0.1
noisy = light + rng.normal(0, 0.002, light.shape)


def name(file):
    return os.path.join(folder, file)


def write_fits(file, *units):
    fits.HDUList(list(units)).writeto(name(file))


data = noisy.astype(np.float32)
sixteen = (noisy * 60000).astype(np.uint16)
eight = (noisy * 250).astype(np.uint8)
tifffile.imwrite(name("linear.tif"), sixteen, photometric="minisblack")
cv2.imwrite(name("eight.png"), eight)
srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
Image.fromarray(np.repeat(eight[..., None], 3, 2)).save(name("tagged.png"), icc_profile=srgb)
tifffile.imwrite(name("tagged.tif"), np.repeat(sixteen[..., None], 3, 2), photometric="rgb",
                 extratags=[(34675, "B", len(srgb), srgb, True)])
cv2.imwrite(name("alpha.png"), np.dstack([sixteen] * 4))
tifffile.imwrite(name("alpha.tif"), np.dstack([sixteen] * 4), photometric="rgb", extrasamples=["unassalpha"])
tifffile.imwrite(name("clipped.tif"), np.minimum(sixteen.astype(int) * 2, 65535).astype(np.uint16),
                 photometric="minisblack")
write_fits("linear.fits", fits.PrimaryHDU(data))
for kind, value in (("nan", np.nan), ("infinite", np.inf)):
    bad = data.copy()
    bad[5, 7] = value
    write_fits(kind + ".fits", fits.PrimaryHDU(bad))
spike = data.copy()
spike[5, 7] = 1e30
write_fits("spike.fits", fits.PrimaryHDU(spike))
write_fits("packed.fits", fits.PrimaryHDU(), fits.CompImageHDU(sixteen, compression_type="RICE_1"))
write_fits("several.fits", fits.PrimaryHDU(data), fits.ImageHDU(data))
write_fits("cube.fits", fits.PrimaryHDU(np.stack([data] * 5)))
table = fits.BinTableHDU.from_columns([fits.Column("FREQUENCY", "D", array=[0.1, 0.2])], name="FRC")
write_fits("misfit.fits", fits.PrimaryHDU(data), fits.ImageHDU(data[:50], name="NOISE"), table)
write_fits("columns.fits", fits.PrimaryHDU(data), fits.ImageHDU(data, name="NOISE"), table)
tifffile.imwrite(name("tiny.tif"), sixteen[:10, :12], photometric="minisblack")
header = bytearray(open(name("eight.png"), "rb").read())
header[16:24] = (60000).to_bytes(4, "big") * 2
header[29:33] = zlib.crc32(header[12:29]).to_bytes(4, "big")
open(name("huge.png"), "wb").write(header)
