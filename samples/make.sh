#!/usr/bin/env bash
# Makes the samples that README.md lists as made by it, with the lab and FFmpeg.
# Needs the release build and `tools/setup.sh --tests`. The same bytes again with the same versions.
set -euo pipefail
cd "$(dirname "$0")"
sim=../build/release/bin/lull-sim
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

simulate() { # PRESET NAME FRAMES SIZE
  "$sim" "$1" --name "$2" --frames "$3" --size "$4" --seed 7 -o "$work" --quiet
}

convert() { ffmpeg -v error -y -fflags +bitexact "$@"; }

simulate jupiter-fair belts 60 160x150
cp "$work/belts.nut" belts_mosaic.nut
cp "$work/belts.truth.fits" belts_mosaic.truth.fits
cp "$work/belts.frames.csv" belts_mosaic.frames.csv

simulate sun-surface-fair granules 50 160x120
cp "$work"/granules.mkv "$work"/granules_dark.mkv "$work"/granules_flat.mkv .

# A telephone at the eyepiece: coded for viewing, 10 bit, on its side.
simulate moon-close-fair phone 90 320x240
convert -i "$work/phone.mkv" -vf "format=yuv420p10le" -c:v libx265 -x265-params "crf=16:log-level=error:info=0:pools=1" \
  -tag:v hvc1 -flags +bitexact "$work/phone.mp4"
convert -display_rotation 90 -i "$work/phone.mp4" -c copy telephone.mp4 2>/dev/null ||
  convert -i "$work/phone.mp4" -c copy -metadata:s:v rotate=90 telephone.mp4

# A webcam: raw YUV with half the colour.
/usr/bin/python3 - "$work" <<'PYTHON'
import json, subprocess, sys
work = sys.argv[1]
parameters = json.load(open(f"{work}/belts.json"))["parameters"]
parameters["camera"]["colour"] = "rgb"
parameters.update(container="mkv", name="webcam", frames=50, width_px=150, height_px=140)
json.dump(parameters, open(f"{work}/webcam_in.json", "w"))
PYTHON
"$sim" "$work/webcam_in.json" -o "$work" --quiet
convert -i "$work/webcam.mkv" -c:v rawvideo -pix_fmt uyvy422 webcam_uyvy.avi

# Numbered pictures and a FITS cube, 16 bit.
simulate mars-fair globe 24 112x112
rm -rf globe_frames && mkdir globe_frames
convert -i "$work/globe.mkv" -vsync passthrough -pix_fmt gray16be globe_frames/globe_%03d.png
/usr/bin/python3 - "$work" <<'PYTHON'
import subprocess, sys
import numpy
from astropy.io import fits
raw = subprocess.run(["ffmpeg", "-v", "error", "-i", f"{sys.argv[1]}/globe.mkv", "-f", "rawvideo", "-pix_fmt", "gray16le", "-"],
                     capture_output=True, check=True).stdout
cube = numpy.frombuffer(raw, "<u2").reshape(-1, 112, 112)
fits.PrimaryHDU(cube).writeto("globe_cube.fits", overwrite=True)
PYTHON

sha256sum ./*.mkv ./*.ser ./*.nut ./*.mp4 ./*.avi ./*.fits ./*.csv globe_frames/*.png | sed 's|\./||' > SHA256SUMS
