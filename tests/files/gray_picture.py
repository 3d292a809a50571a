"""What Pillow makes of a gray picture: gray_picture.py FILE

Prints JSON: mode, size, the samples, and of the ICC profile (none: null) the parameters of its gray curve
(ICC.1:2010, 10.16: parametricCurveType, function 3: gamma, a, b, c, d as s15Fixed16 numbers)."""
import json
import struct
import sys

from PIL import Image

picture = Image.open(sys.argv[1])
profile = picture.info.get("icc_profile")
curve = None
if profile:
    count = struct.unpack(">I", profile[128:132])[0]
    tags = {profile[132 + 12 * i:136 + 12 * i]: struct.unpack(">II", profile[136 + 12 * i:144 + 12 * i])
            for i in range(count)}
    at, _ = tags[b"kTRC"]
    assert profile[at:at + 4] == b"para" and struct.unpack(">H", profile[at + 8:at + 10])[0] == 3
    curve = [value / 65536 for value in struct.unpack(">5i", profile[at + 12:at + 32])]
print(json.dumps({"mode": picture.mode, "size": picture.size, "samples": list(picture.getdata()), "curve": curve}))
