#!/usr/bin/python3
"""Tables of what Lull reaches on a folder of captures with known truth, as Markdown.

    bench/captures.py FOLDER [--lull build/release/bin/lull] [--work DIR] [--only rank|stack]

FOLDER holds captures, NAME.truth.fits, NAME.frames.csv, optionally NAME_dark.* and NAME_flat.*, score.py
(the judge, which stands outside the project) and a README.md whose last table gives the figures to compare with.
Debian: python3-numpy python3-scipy python3-tifffile python3-opencv python3-astropy."""
import argparse
import csv
import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
from scipy.stats import spearmanr

MEASURES = ("gradient", "laplacian", "modified-laplacian", "finest", "fine", "coarse", "auto")
VIDEO = (".avi", ".mkv", ".ser", ".mp4", ".mov")


def captures(folder):
    for truth in sorted(folder.glob("*.truth.fits")):
        name = truth.name.split(".")[0]
        for file in sorted(folder.glob(name + ".*")):
            if file.suffix in VIDEO:
                yield name, file, truth


def calibration(folder, name):
    words = []
    for role in ("dark", "flat"):
        for file in folder.glob(f"{name}_{role}.*"):
            if file.suffix in VIDEO:
                words += [f"--{role}", str(file)]
    return words


def published(folder):
    """Rows of the README's last table: name -> column -> text."""
    text = (folder / "README.md").read_text()
    rows = [[c.strip() for c in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("|")]
    header = next(i for i in range(len(rows) - 1, -1, -1) if rows[i][-1] == "rank")
    return {r[0]: dict(zip(rows[header], r)) for r in rows[header + 2:]}


def run(words):
    done = subprocess.run([str(w) for w in words], capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"{' '.join(map(str, words))}\n{done.stderr}")
    return done.stdout


def strehl(folder, name):
    """True Strehl ratio of each frame; NaN where the file has none."""
    with open(folder / f"{name}.frames.csv") as file:
        rows = list(csv.DictReader(file))
    column = next(c for c in rows[0] if re.match("strehl", c))
    return np.array([float(r[column]) if r[column] else np.nan for r in rows])


def rank_table(options):
    known = published(options.folder)
    print("| capture | script | " + " | ".join(MEASURES) + " |\n|" + "---|" * (len(MEASURES) + 2))
    for name, file, _ in captures(options.folder):
        truth = strehl(options.folder, name)
        cells = []
        for measure in MEASURES:
            out = options.work / "rank.csv"
            out.unlink(missing_ok=True)
            run([options.lull, "rank", file, *calibration(options.folder, name), "--metric", measure,
                 "--csv", out, "--quiet"])
            with open(out) as table:
                rows = [r for r in csv.DictReader(table) if r["sharpness"] and not r["flags"]]
            frames = [int(r["frame"]) for r in rows]
            scores = [float(r["sharpness"]) for r in rows]
            cells.append(f"{spearmanr(scores, truth[frames], nan_policy='omit')[0]:.3f}")
        print(f"| {name} | {known.get(name, {}).get('rank', '')} | " + " | ".join(cells) + " |", flush=True)


def judged(options, name, file, truth, extra):
    out = options.work / f"{name}.tif"
    for earlier in options.work.glob(f"{name}.*"):
        earlier.unlink()
    run([options.lull, "stack", file, *calibration(options.folder, name), "-o", out, "--quiet", *extra])
    score = json.loads(run(["/usr/bin/python3", options.folder / "score.py", out, truth, "--no-curve"]))
    return score, score["after_removing_smooth_distortion"]


def stack_table(options):
    known = published(options.folder)
    print("| capture | script | auto | 15 % | oracle | distortion, px | PSNR linear -> finished (best radial) |")
    print("|---|---|---|---|---|---|---|")
    for name, file, truth in captures(options.folder):
        row = known.get(name, {})
        linear, auto = judged(options, name, file, truth, ["--finish", "none"])
        _, part = judged(options, name, file, truth, ["--finish", "none", "--keep", "15%"])
        finished, _ = judged(options, name, file, truth, [])
        pair = lambda s: f"{s['frc_auc']:.3f} / {s['psnr_best_radial']:.1f}"
        print(f"| {name} | {row.get('script', '')} | {pair(auto)} | {pair(part)} | {row.get('oracle', '')} | "
              f"{auto['distortion_rms_px']:.2f} | {linear['psnr']:.2f} -> {finished['psnr']:.2f} "
              f"({linear['psnr_best_radial']:.2f}) |", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--lull", type=Path, default=Path("build/release/bin/lull"))
    parser.add_argument("--work", type=Path)
    parser.add_argument("--only", choices=("rank", "stack"))
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        options.work = options.work or Path(scratch)
        options.work.mkdir(parents=True, exist_ok=True)
        if options.only != "stack":
            rank_table(options)
        if options.only != "rank":
            print()
            stack_table(options)


main()
