"""Seeded pairs of rankings, with and without ties, and what SciPy makes of them.

agreement.py OUT SEED

Debian: python3-numpy python3-scipy. Writes text, for each pair the number of values n, n values, n values,
scipy.stats.spearmanr, scipy.stats.kendalltau (variant b), and the loss of the best tenth by the first,
as a share of the best possible mean of the second, from NumPy's sorts."""
import sys

import numpy as np
from scipy.stats import kendalltau, rankdata, spearmanr

out, seed = sys.argv[1], int(sys.argv[2])
random = np.random.default_rng(seed)
with open(out, "w") as file:
    for count in (2, 3, 5, 10, 33, 100, 257, 1000):
        for levels in (2, 4, 50, 0):
            truth = random.random(count)
            score = truth + random.normal(0, random.choice([0.05, 0.3, 3]), count)
            if random.random() < 0.3:
                score = -score
            if levels:
                truth, score = np.round(truth * levels) / levels, np.round(score * levels)
            if np.ptp(truth) == 0 or np.ptp(score) == 0:
                truth[0], score[0] = truth[0] + 1, score[0] - 1
            kept = max(1, int(0.1 * count + 0.5))
            chosen = np.argsort(-score, kind="stable")[:kept]
            loss = 1 - truth[chosen].mean() / np.sort(truth)[-kept:].mean()
            file.write(f"{count}\n")
            for values in (truth, score, rankdata(score),
                           [spearmanr(truth, score)[0], kendalltau(truth, score, variant="b")[0], loss]):
                file.write(" ".join(repr(float(v)) for v in values) + "\n")
