"""Draws a text by Pillow and fontTools, and holds a picture of the same text against the result.

text_values.py FONT SIZE_PX TEXT PICTURE X_PX BASELINE_PX

Pillow draws each character and knows how wide it is; fontTools reads the kerning of each pair from the table
kern of the font, here rounded to pixels. (Pillow's own kerning divides by 64 once too often in version 9.4.)
Prints JSON: the length, the sum of kerning, the sum of coverage, and the largest difference of a pixel, of 255."""
import json
import math
import sys

import numpy as np
from fontTools.ttLib import TTFont
from PIL import Image, ImageDraw, ImageFont

path, size, text, picture, x, baseline = sys.argv[1:]
font = ImageFont.truetype(path, int(size), layout_engine=ImageFont.Layout.BASIC)
tables = TTFont(path)
names, kerning = tables.getBestCmap(), tables["kern"].kernTables[0].kernTable
px_per_unit = int(size) / tables["head"].unitsPerEm
found = Image.open(picture)
expected = Image.new("L", found.size, 0)
pen, kerned, before = 0, 0, None
for c in text:
    name = names.get(ord(c), ".notdef")
    kern = math.floor(kerning.get((before, name), 0) * px_per_unit + 0.5)
    pen, kerned, before = pen + kern, kerned + kern, name
    ImageDraw.Draw(expected).text((int(x) + pen, int(baseline)), c, 255, font, anchor="ls")
    pen += font.getlength(c)
a, b = (np.asarray(image, int) for image in (found, expected))
print(json.dumps({"length_px": pen, "kerning_px": kerned, "coverage": int(b.sum()), "most": int(np.abs(a - b).max())}))
