#!/usr/bin/python3
"""Makes the pictures of src/docs/before-and-after.md: the linear stack on the left, the finished picture on the right.

    tools/before_after.py [--lull build/release/bin/lull]

Debian: python3-pil."""
import argparse
import subprocess
import tempfile
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = ROOT / "samples"
FOLDER = ROOT / "src/docs/pictures"
GAP_PX = 6

# Sample, times enlarged, options.
PICTURES = {
    "belts": ("belts_mosaic.nut", 2, ["--object", "jupiter"]),
    "highland": ("highland.mkv", 1, []),
    "ringed": ("ringed_faint.ser", 2, []),
    "granules": ("granules.mkv", 2,
                 ["--dark", SAMPLES / "granules_dark.mkv", "--flat", SAMPLES / "granules_flat.mkv"]),
}


def picture(lull, folder, sample, options):
    result, copy = folder / "result.tif", folder / "copy.png"
    words = [lull, "stack", SAMPLES / sample, "-o", result, "--share", copy, "--report", "none", "--overwrite", "--quiet"]
    subprocess.run([str(word) for word in words + options], check=True, stdout=subprocess.DEVNULL)
    return Image.open(copy).convert("RGB")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--lull", type=Path, default=ROOT / "build/release/bin/lull")
    lull = parser.parse_args().lull.resolve()
    FOLDER.mkdir(exist_ok=True)
    for name, (sample, times, options) in PICTURES.items():
        with tempfile.TemporaryDirectory() as folder:
            pair = [picture(lull, Path(folder), sample, options + more)
                    for more in (["--finish", "none"], [])]
        width, height = pair[0].size
        both = Image.new("RGB", (2 * times * width + GAP_PX, times * height), "gray")
        for i, one in enumerate(pair):
            one = one.resize((times * width, times * height), Image.Resampling.BICUBIC)
            both.paste(one, (i * (times * width + GAP_PX), 0))
        both.save(FOLDER / f"{name}.jpg", quality=90)


if __name__ == "__main__":
    main()
