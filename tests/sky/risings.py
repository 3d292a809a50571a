"""Risings, settings, transits and nautical twilight by PyEphem, as JSON.

risings.py FROM LATITUDE LONGITUDE HEIGHT: the first of each after FROM (UTC)."""
import json
import sys

import ephem

BODIES = ["sun", "moon", "mercury", "venus", "mars", "jupiter", "saturn", "uranus", "neptune"]
start, latitude, longitude, height = sys.argv[1:]


def observer(horizon="-0:34"):
    site = ephem.Observer()
    site.lat, site.lon, site.elevation = latitude, longitude, float(height)
    site.pressure, site.horizon = 0, horizon
    site.date = start.replace("T", " ").replace("-", "/")
    return site


def text(date):
    return date.datetime().strftime("%Y-%m-%dT%H:%M:%S.%f")


found = {}
for name in BODIES:
    body = getattr(ephem, name.capitalize())
    found[name] = {
        "rise": text(observer().next_rising(body())),
        "set": text(observer().next_setting(body())),
        "transit": text(observer().next_transit(body())),
    }
found["sun"]["dusk"] = text(observer("-12").next_setting(ephem.Sun(), use_center=True))
found["sun"]["dawn"] = text(observer("-12").next_rising(ephem.Sun(), use_center=True))
print(json.dumps(found))
