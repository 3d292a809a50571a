"""Writes FITS files with astropy into a folder, and beside them NumPy's samples as raw bytes."""
import sys

import numpy as np
from astropy.io import fits

folder = sys.argv[1]
frames, height, width = 5, 7, 9
f, y, x = np.mgrid[0:frames, 0:height, 0:width]
words = (f * 1000 + y * 31 + x * 3 + 5).astype(np.uint16)
octets = (f * 40 + y * 5 + x).astype(np.uint8)
octets.tofile(f"{folder}/cube_u8.raw")
words.tofile(f"{folder}/cube_u16.raw")


def write(name, data, **cards):
    header = fits.Header()
    for key, value in cards.items():
        header[key.replace("_", "-")] = value
    fits.PrimaryHDU(data, header).writeto(f"{folder}/{name}.fits", overwrite=True)


write("cube_u8", octets)
write("cube_u16", words)
write("cube_i16", words.astype(np.int16))
write("cube_i32", words.astype(np.int32))
write("cube_whole", words.astype(np.float32))
write("cube_f32", (0.001 * y + 0.01 * x + 0.0 * f).astype(np.float32))
write("cube_signed", (100 * x - 50 * y + 0 * f).astype(np.int16))
upturned = words[:, ::-1, :]
write("upturned", upturned, ROWORDER="BOTTOM-UP", EXPTIME=0.02, DATE_OBS="2024-03-01T20:15:30.25")
write("mosaic", words, BAYERPAT="RGGB", XBAYROFF=1, EXPOSURE=0.125)
colours = np.stack([words[:2], words[:2] + 100, words[:2] + 200], axis=1)
write("colours", colours)
write("longest", words, EXPTIME=-3.0)
colours.tofile(f"{folder}/colours.raw")
for i in (0, 1, 3, 4):
    write(f"night_{i + 1:03d}", words[i], DATE_OBS=f"2024-03-01T20:15:{30 + 0.5 * i:06.3f}")
table = fits.BinTableHDU.from_columns([fits.Column(name="a", format="E", array=np.ones(3))])
fits.HDUList([fits.PrimaryHDU(), table]).writeto(f"{folder}/table.fits", overwrite=True)
write("line", words[0, 0])
