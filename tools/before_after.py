#!/usr/bin/python3
"""Makes the pictures of src/docs/before-and-after.md: the linear stack on the left, the finished picture on the right.

    tools/before_after.py [--lull build/release/bin/lull]

Debian: python3-numpy python3-pil python3-tifffile."""
import argparse
import subprocess
import tempfile
from pathlib import Path

import numpy as np
import tifffile
from PIL import Image

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = ROOT / "samples"
FOLDER = ROOT / "src/docs/pictures"
GAP_PX = 6
DEVIATIONS = 4  # of the granules, from their median to black and to white

# Sample, times enlarged, options. Without the shared copy, black and white are set from the field.
PICTURES = {
    "belts": ("belts_mosaic.nut", 2, ["--object", "jupiter"], True),
    "highland": ("highland.mkv", 1, [], True),
    "ringed": ("ringed_faint.ser", 2, [], True),
    "granules": ("granules.mkv", 2,
                 ["--dark", SAMPLES / "granules_dark.mkv", "--flat", SAMPLES / "granules_flat.mkv"], False),
}


def of_field(path):
    light = tifffile.imread(path).astype(float)
    middle = np.median(light)
    sigma = 1.4826 * np.median(abs(light - middle))
    shown = (light - middle) / (2 * DEVIATIONS * sigma) + 0.5
    return Image.fromarray((255 * np.clip(shown, 0, 1)).round().astype(np.uint8)).convert("RGB")


def picture(lull, folder, sample, options, shared):
    result, copy = folder / "result.tif", folder / "copy.png"
    words = [lull, "stack", SAMPLES / sample, "-o", result, "--share", copy, "--report", "none", "--overwrite", "--quiet"]
    subprocess.run([str(word) for word in words + options], check=True, stdout=subprocess.DEVNULL)
    return Image.open(copy).convert("RGB") if shared else of_field(result)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--lull", type=Path, default=ROOT / "build/release/bin/lull")
    lull = parser.parse_args().lull.resolve()
    FOLDER.mkdir(exist_ok=True)
    for name, (sample, times, options, shared) in PICTURES.items():
        with tempfile.TemporaryDirectory() as folder:
            pair = [picture(lull, Path(folder), sample, options + more, shared)
                    for more in (["--finish", "none"], [])]
        width, height = pair[0].size
        both = Image.new("RGB", (2 * times * width + GAP_PX, times * height), "gray")
        for i, one in enumerate(pair):
            one = one.resize((times * width, times * height), Image.Resampling.BICUBIC)
            both.paste(one, (i * (times * width + GAP_PX), 0))
        both.save(FOLDER / f"{name}.jpg", quality=90)


if __name__ == "__main__":
    main()
