#!/usr/bin/python3
"""Quantiles of seeded samples by NumPy, for statistics_test.cpp.

Debian: python3-numpy. Writes text, for each sample: the number of values n, n values, the share, and
its quantile by the methods 'linear', 'lower' and 'higher'.
"""
import numpy as np

random = np.random.default_rng(1996)
for n in (1, 2, 3, 4, 5, 10, 99, 100, 1001):
    for kind in ("normal", "ties"):
        values = random.standard_normal(n) if kind == "normal" else random.integers(0, 5, n).astype(float)
        for share in (0.0, 0.01, 0.25, 0.3, 0.5, 0.95, 0.999, 1.0):
            found = [np.quantile(values, share, method=m) for m in ("linear", "lower", "higher")]
            print(n, *(repr(float(v)) for v in values), share, *(repr(float(v)) for v in found))
