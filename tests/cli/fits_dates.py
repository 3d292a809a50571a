"""Prints the dates of a FITS file in seconds after a moment of UTC, as astropy reads them."""
import sys

from astropy.io import fits
from astropy.time import Time

header = fits.getheader(sys.argv[1])
epoch = Time(sys.argv[2], scale="utc", format="isot")
scale = header["TIMESYS"].lower()
for key in ("DATE-OBS", "DATE-AVG", "DATE-END"):
    print(f"{(Time(header[key], scale=scale, format='isot') - epoch).sec:.6f}")
