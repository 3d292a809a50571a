"""What someone with a ruler reads off an SVG plot, by Python's own XML parser.

svg_values.py FILE X_SCALE Y_SCALE

The scales are linear or log. Places become values by the labels of the ticks: the first and the last of
each axis make the scale, and the others must lie on it to 0.05 px. Prints JSON: ticks of each axis, the texts
of title, labels and legend, and for each series its name and its values."""
import json
import math
import re
import sys
import xml.etree.ElementTree as ET

SVG = "{http://www.w3.org/2000/svg}"


class Axis:
    def __init__(self, root, kind, place, scale):
        self.forward = math.log10 if scale == "log" else float
        self.back = (lambda v: 10 ** v) if scale == "log" else float
        self.ticks = [float(t.text) for t in root.iter(SVG + "text") if t.get("class") == kind]
        grid = [line for line in root.iter(SVG + "line") if line.get("class") == "grid"]
        across = [line for line in grid if line.get(place + "1") == line.get(place + "2")]
        self.places = [float(line.get(place + "1")) for line in across]
        assert len(self.ticks) == len(self.places) >= 2, (self.ticks, self.places)
        for tick, at in zip(self.ticks, self.places):
            assert abs(self.place(tick) - at) < 0.05, (tick, at, self.place(tick))

    def slope(self):
        return (self.forward(self.ticks[-1]) - self.forward(self.ticks[0])) / (self.places[-1] - self.places[0])

    def place(self, value):
        return self.places[0] + (self.forward(value) - self.forward(self.ticks[0])) / self.slope()

    def value(self, place):
        return self.back(self.forward(self.ticks[0]) + (place - self.places[0]) * self.slope())


root = ET.parse(sys.argv[1]).getroot()
assert root.tag == SVG + "svg"
x, y = Axis(root, "tick-x", "x", sys.argv[2]), Axis(root, "tick-y", "y", sys.argv[3])
series = []
for group in root.iter(SVG + "g"):
    if group.get("class") != "series":
        continue
    dots = [(float(c.get("cx")), float(c.get("cy"))) for c in group.iter(SVG + "circle")]
    strokes = [[tuple(map(float, p.split())) for p in re.split("[ML]", part)[1:]]
               for path in group.iter(SVG + "path") if path.get("class") != "fill" for part in re.findall("M[^M]*", path.get("d"))]
    strokes = strokes or [dots]
    series.append({"name": group.find(SVG + "title").text,
                   "strokes": [[[x.value(px), y.value(py)] for px, py in stroke] for stroke in strokes]})
words = {kind: [t.text for t in root.iter(SVG + "text") if t.get("class") == kind]
         for kind in ("title", "label-x", "label-y", "label-right", "legend", "tick-right")}
print(json.dumps({"x": x.ticks, "y": y.ticks, "series": series, **words}))
