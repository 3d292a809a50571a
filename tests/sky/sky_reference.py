"""How far a table of places in the sky is from astropy and from PyEphem.

sky_reference.py TABLE prints JSON: for each library and body the greatest differences."""
import json
import sys
import warnings

import ephem
import numpy as np
from astropy.coordinates import AltAz, EarthLocation, TETE, get_body, solar_system_ephemeris
from astropy.time import Time
from astropy.utils import iers

warnings.simplefilter("ignore")
iers.conf.auto_download = False  # nothing is fetched: UT1 is UTC on both sides, as set below
LATITUDE, LONGITUDE, HEIGHT = -33.4, 151.2, 620.0

rows = np.genfromtxt(sys.argv[1], delimiter=",", names=True, dtype=None, encoding="ascii")


def apart(longitude, latitude, other_longitude, other_latitude):
    """Greatest angle between places, arcsec; all in degrees."""
    a, b, c, d = (np.radians(np.asarray(x, dtype=float)) for x in (longitude, latitude, other_longitude, other_latitude))
    half = np.sin((b - d) / 2) ** 2 + np.cos(b) * np.cos(d) * np.sin((a - c) / 2) ** 2
    return float(np.max(2 * np.degrees(np.arcsin(np.sqrt(half))) * 3600))


def against_astropy(body, mine):
    time = Time(list(mine["utc"]), scale="utc")
    time.delta_ut1_utc = np.zeros(len(time))
    place = EarthLocation.from_geodetic(LONGITUDE, LATITUDE, HEIGHT)
    with solar_system_ephemeris.set("builtin"):
        seen = get_body(body, time, place)
    of_date = seen.transform_to(TETE(obstime=time, location=place))
    horizon = seen.transform_to(AltAz(obstime=time, location=place))
    return {
        "place_arcsec": apart(mine["ra"], mine["dec"], of_date.ra.deg, of_date.dec.deg),
        "horizon_arcsec": apart(mine["azimuth"], mine["altitude"], horizon.az.deg, horizon.alt.deg),
        "distance": float(np.max(np.abs(mine["au"] / seen.distance.au - 1))),
    }


def face(body, seen):
    """As sight_test.cpp has it, degrees."""
    if body == "moon":
        return np.degrees([seen.libration_long, seen.libration_lat, seen.subsolar_lat])
    if body == "saturn":
        return np.degrees([seen.earth_tilt, seen.sun_tilt, 0])
    return np.zeros(3)


def against_ephem(body, mine):
    observer = ephem.Observer()
    observer.lat, observer.lon, observer.elevation = np.radians(LATITUDE), np.radians(LONGITUDE), HEIGHT
    observer.pressure = 0
    seen = getattr(ephem, body.capitalize())()
    theirs, faces = [], []
    for moment in mine["utc"]:
        observer.date = moment.replace("T", " ").replace("-", "/")
        seen.compute(observer)
        elongation = 0.0 if body == "sun" else np.degrees(seen.elong)
        faces.append(face(body, seen))
        theirs.append((np.degrees(seen.ra), np.degrees(seen.dec), seen.size, seen.phase / 100, elongation))
    ours = np.array([[float(word) for word in text.split()] for text in mine["face"]])
    ra, dec, size, lit, elongation = np.array(theirs).T
    return {
        "place_arcsec": apart(mine["ra"], mine["dec"], ra, dec),
        "face_deg": float(np.max(np.abs((ours - np.array(faces) + 180) % 360 - 180))),
        "diameter": float(np.max(np.abs(mine["arcsec"] / size - 1))),
        "lit": 0.0 if body == "sun" else float(np.max(np.abs(mine["lit"] - lit))),
        "elongation_deg": float(np.max(np.abs(np.abs(mine["elongation"]) - np.abs(elongation)))),
    }


found = {"astropy": {}, "ephem": {}}
for name in np.unique(rows["body"]):
    mine = rows[rows["body"] == name]
    found["astropy"][name] = against_astropy(name, mine)
    found["ephem"][name] = against_ephem(name, mine[mine["utc"] < "2030"])
print(json.dumps(found))
