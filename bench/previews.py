#!/usr/bin/python3
"""Latency of the desk's previews, on the clock: what is asked for until the last byte is there.

    bench/previews.py build/release/bin [--size 1640x1232] [--preset NAME] [--times 15]

Makes a capture by lull-sim, stacks it, starts `lull desk` over it and asks as the page of Tune does.
Answers are checked for their size before their time counts. Prints median, lowest and highest on the
clock, and the median of the processor's time, which other work on the machine changes less.
"""
import argparse
import json
import os
import pathlib
import re
import statistics
import subprocess
import tempfile
import time
import urllib.request

parser = argparse.ArgumentParser()
parser.add_argument("programs", type=pathlib.Path)
parser.add_argument("--size", default="1640x1232")
parser.add_argument("--preset", default="moon-terminator-fair")
parser.add_argument("--times", type=int, default=15)
asked = parser.parse_args()


class Desk:
    """`lull desk` over a folder, and requests to it."""

    def __init__(self, folder):
        self.child = subprocess.Popen([asked.programs / "lull", "desk", folder, "--no-open"], stdout=subprocess.PIPE, text=True)
        for line in self.child.stdout:
            if found := re.search(r"(http://\S+)/\?key=(\w+)", line):
                self.base, self.key = found.groups()
                break

    def ask(self, path, body=None):
        data = None if body is None else json.dumps(body).encode()
        headers = {"Authorization": f"Bearer {self.key}", "Content-Type": "application/json"}
        with urllib.request.urlopen(urllib.request.Request(f"{self.base}/api/{path}", data, headers)) as answer:
            return answer.headers, answer.read()

    def processor_s(self):
        fields = pathlib.Path(f"/proc/{self.child.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def timed(self, path, bodies):
        """Of each: seconds on the clock, and of the processor."""
        out = []
        last = b""
        for body in bodies:
            begun, used = time.perf_counter(), self.processor_s()
            headers, got = self.ask(path, body)
            out.append((time.perf_counter() - begun, self.processor_s() - used))
            if "X-Width" in headers:
                assert body == bodies[0] or got != last, "another curve gives another picture"
                last = got
                assert len(got) == 2 * int(headers["X-Width"]) * int(headers["X-Height"]) * int(headers["X-Channels"])
        return out


def curve(i):
    """Another curve of detail each time, as a hand that drags a point."""
    return f"1.5:{2 + 0.05 * i:.2f},3:{1.6 + 0.03 * i:.2f},8:1.1"


def main(folder):
    width, height = map(int, asked.size.split("x"))
    subprocess.run([asked.programs / "lull-sim", asked.preset, "-o", folder, "--frames", "24", "--size", asked.size, "--name", "ground", "--quiet"], check=True)
    (folder / "results").mkdir()
    [capture] = [*folder.glob("ground.mkv")]
    subprocess.run([asked.programs / "lull", "stack", capture, "-o", folder / "results/ground.tif", "--keep", "100%", "--quiet"], check=True)
    desk = Desk(folder)
    try:
        result = json.loads(desk.ask("results")[1])["results"][0]["id"]
        size = json.loads(desk.ask(f"results/{result}")[1])
        width, height = size["width"], size["height"]
        print(f"a linear stack of {width} x {height} px, {size['channels']} channels")
        place = f"results/{result}/preview"

        def bodies(region, wide, of="finished"):
            return [{"options": {"--detail": curve(i)}, "region": region, "width": wide, "of": of} for i in range(asked.times + 1)]

        def part(w, h):
            return [(width - w) // 2, (height - h) // 2, w, h]

        rows = {
            "the first of all: 512 x 512 px": desk.timed(place, bodies(part(512, 512), 512)[:1]),
            "512 x 512 px, another curve each time": desk.timed(place, bodies(part(512, 512), 512))[1:],
            "512 x 512 px, --detail auto": desk.timed(place, [{"options": {}, "region": part(512, 512), "width": 512}] * (asked.times + 1))[1:],
            "1000 x 560 px, another curve (1:1 on a stage of 1440 x 900)": desk.timed(place, bodies(part(1000, 560), 1000))[1:],
            "the whole, 1000 px wide, another curve": desk.timed(place, bodies([0, 0, width, height], 1000))[1:],
            "the whole at full size, another curve": desk.timed(place, bodies([0, 0, width, height], width))[1:],
            "where noise is raised": desk.timed(f"results/{result}/noise", [{"options": {"--detail": curve(i)}} for i in range(asked.times + 1)])[1:],
        }
        for words, seconds in rows.items():
            clock, used = zip(*seconds)
            print(f"{words:62} {1000 * statistics.median(clock):6.0f} ms  ({1000 * min(clock):.0f} to {1000 * max(clock):.0f}), "
                  f"processor {1000 * statistics.median(used):.0f} ms")
    finally:
        desk.child.terminate()
        desk.child.wait()


with tempfile.TemporaryDirectory() as made:
    main(pathlib.Path(made))
