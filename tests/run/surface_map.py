#!/usr/bin/env python3
"""A planet drawn by numpy alone, and maps of it read by astropy.wcs.

surface_map.py draw OUT WIDTH HEIGHT HOURS  raw float32 picture of Jupiter HOURS after 1992-12-16, 0 h UT
surface_map.py check MAP.fits SYSTEM        JSON: where the spots lie, and what the header says
surface_map.py gdal MAP.fits                JSON: the globe and the axes that GDAL reads
surface_map.py tiff MAP.tif                 JSON: samples and alpha

Jupiter then: Meeus, Astronomical Algorithms, 2nd edition, example 43.a (tilt, pole, phase);
longitudes of the middle from the IAU elements with astropy's ephemeris, which npm's astronomy-engine confirms."""
import json
import sys
import warnings

import numpy as np

RADIUS, RATIO, DARKENING = 60.0, 66854.0 / 71492.0, 0.9
TILT, POLE, PHASE, SUN_TILT = -2.48, 24.80, 9.922, -2.20  # degrees; tilts are planetocentric
MIDDLE = {1: 267.65, 2: 72.27, 3: 349.62}
# Degrees a day: Archinal et al. 2018 (III), Davies et al. 1986 (I, II).
RATE = {1: 877.900, 2: 870.270, 3: 870.536}
# Longitude of System III at that moment, planetographic latitude.
SPOTS = [(345.0, 20.0), (10.0, -35.0), (325.0, 5.0), (350.0, 62.0), (5.0, -60.0), (320.0, -15.0)]


def vector(longitude, latitude):
    """On a unit sphere; longitudes grow westward."""
    lon, lat = np.radians(-np.asarray(longitude, dtype=float)), np.radians(np.asarray(latitude, dtype=float))
    return np.array([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)])


def drawn(width, height, hours):
    middle = MIDDLE[3] + RATE[3] * hours / 24
    to_observer, to_sun = vector(middle, TILT), vector(middle + PHASE, SUN_TILT)
    east = np.cross([0, 0, 1], to_observer)
    east /= np.linalg.norm(east)
    up = np.cross(to_observer, east)
    fine = 3
    offsets = (np.arange(fine) + 0.5) / fine - 0.5
    y, x = np.mgrid[0:height, 0:width].astype(float)
    out = np.zeros((height, width))
    pole = np.radians(POLE)  # counter-clockwise from the top
    for oy in offsets:
        for ox in offsets:
            dx, dy = (x + ox - width / 2) / RADIUS, (y + oy - height / 2) / RADIUS
            a = dx * np.cos(pole) - dy * np.sin(pole)
            b = -dx * np.sin(pole) - dy * np.cos(pole)
            start = a[..., None] * east + b[..., None] * up
            squash = np.array([1, 1, 1 / RATIO])
            s, d = start * squash, to_observer * squash
            aa, bb, cc = d @ d, s @ d, np.sum(s * s, axis=-1) - 1
            root = bb**2 - aa * cc
            on = root > 0
            point = start + ((np.sqrt(np.where(on, root, 0)) - bb) / aa)[..., None] * to_observer
            normal = point * squash**2
            normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
            mu, mu0 = np.clip(normal @ to_observer, 0.03, 1), np.clip(normal @ to_sun, 0, 1)
            surface = np.full(on.shape, 0.5)
            for lon, lat in SPOTS:  # by the angle between normals: planetographic places
                ahead = (RATE[1 if abs(lat) < 8 else 2] - RATE[3]) * hours / 24
                angle = np.degrees(np.arccos(np.clip(normal @ vector(lon - ahead, lat), -1, 1)))
                surface += 0.25 * np.exp(-0.5 * (angle / 4.0) ** 2)
            out += np.where(on, surface * mu0**DARKENING * mu ** (DARKENING - 1), 0)
    from scipy.ndimage import gaussian_filter
    return gaussian_filter(out / fine**2, 1.0).astype(np.float32)


def check(path, system):
    from astropy.io import fits
    from astropy.wcs import WCS

    warnings.simplefilter("error")
    with fits.open(path) as hdus:
        hdus.verify("exception")
        header, data = hdus[0].header, hdus[0].data.astype(float)
        plane = data[0] if data.ndim == 3 else data
        wcs = WCS(header, naxis=2)
        places = {}
        for lon, lat in SPOTS:
            named = (lon - MIDDLE[3] + MIDDLE[system]) % 360
            x, y = (float(v) for v in wcs.all_world2pix(named, lat, 0))
            if not (0 <= x < plane.shape[1] and 0 <= y < plane.shape[0]) or np.isnan(plane[int(y), int(x)]):
                continue
            row, column = np.mgrid[0:plane.shape[0], 0:plane.shape[1]]
            world = wcs.all_pix2world(column, row, 0)
            angle = np.degrees(np.arccos(np.clip(np.einsum("ijk,i->jk", vector(*world), vector(named, lat)), -1, 1)))
            near = (angle < 8) & ~np.isnan(plane)
            light = np.where(near, np.nan_to_num(plane) - np.min(plane[near]), 0)
            area = light * np.cos(np.radians(world[1])) if "CAR" in header["CTYPE1"] else light
            mean = np.einsum("ijk,jk->i", vector(*world), area) / np.sum(area)
            found = mean / np.linalg.norm(mean)
            places[f"{lon:g} {lat:g}"] = {
                "off_deg": float(np.degrees(np.arccos(np.clip(found @ vector(named, lat), -1, 1)))),
                "top": float(np.max(plane[near])),
                "east_deg": float((named - np.degrees(-np.arctan2(found[1], found[0])) + 180) % 360 - 180),
            }
        flat = plane[~np.isnan(plane)]
        parts = {part.name: {"shape": list(part.data.shape), "unseen": bool(
            np.array_equal(np.isnan(np.atleast_3d(part.data)).reshape(part.data.shape)[..., :, :],
                           np.isnan(data)) if part.name == "NOISE" else np.array_equal(part.data == 0, np.isnan(plane))),
            "same": bool(np.allclose(WCS(part.header, naxis=2).wcs.crval, wcs.wcs.crval)
                         and np.allclose(WCS(part.header, naxis=2).wcs.crpix, wcs.wcs.crpix))}
            for part in hdus[1:]}
        return {"spots": places, "shape": list(data.shape), "nan": float(np.mean(np.isnan(plane))),
                "low": float(np.quantile(flat, 0.2)), "least": float(np.min(flat)), "most": float(np.max(flat)),
                "header": {key: header.get(key) for key in ("CTYPE1", "CTYPE2", "CUNIT1", "CDELT1", "CDELT2", "A_RADIUS",
                           "C_RADIUS", "OBJECT", "LONSYS", "LONSENSE", "DATE-AVG", "NSTACKS")},
                "wcs": {"types": [wcs.wcs.lngtyp, wcs.wcs.lattyp], "lonpole": wcs.wcs.lonpole, "theta0": wcs.wcs.theta0},
                "corners": [[float(v) for v in wcs.all_pix2world(x, y, 0)]
                            for x, y in ((0, 0), (plane.shape[1] - 1, plane.shape[0] - 1))], "parts": parts}


def gdal(path):
    from osgeo import gdal as library
    library.UseExceptions()
    part = library.Open(library.Open(path).GetSubDatasets()[0][0])
    globe = part.GetSpatialRef()
    degree = np.pi / 180 * globe.GetSemiMajor()
    left, across, skew_x, top, skew_y, down = part.GetGeoTransform()
    return {"name": globe.GetAttrValue("GEOGCS"), "radius": globe.GetSemiMajor(), "inverse_flattening": globe.GetInvFlattening(),
            "projection": globe.GetAttrValue("PROJECTION"), "across_deg": across / degree, "down_deg": down / degree,
            "left_deg": left / degree, "top_deg": top / degree, "skew": [skew_x, skew_y]}


def tiff(path):
    import tifffile
    with tifffile.TiffFile(path) as file:
        page = file.pages[0]
        data = page.asarray()
        return {"shape": list(data.shape), "extra": [int(v) for v in page.extrasamples],
                "alpha": sorted(int(v) for v in np.unique(data[..., -1])),
                "hidden": int(np.max(np.where(data[..., -1:] == 0, data[..., :-1], 0))),
                "top": int(np.max(data[..., :-1])), "seen": float(np.mean(data[..., -1] > 0)), "text": page.description}


if sys.argv[1] == "draw":
    drawn(int(sys.argv[3]), int(sys.argv[4]), float(sys.argv[5])).tofile(sys.argv[2])
elif sys.argv[1] == "check":
    print(json.dumps(check(sys.argv[2], int(sys.argv[3]))))
elif sys.argv[1] == "gdal":
    print(json.dumps(gdal(sys.argv[2])))
else:
    print(json.dumps(tiff(sys.argv[2])))
