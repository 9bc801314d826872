"""Recompute the headline numbers of a results folder from its arrays alone.

    python3 recompute.py FOLDER

Prints the mean temperature of the first target at the end and the days on which
50 and 90 % of its volume had reached its temperature, beside summary.json, and
exits with 1 if any differs by more than 1e-6.
"""
import json
import sys

import numpy as np


def quantile(days, volume, share):
    """First day by which cells that hold the share of the volume had crossed."""
    order = np.argsort(days, kind="stable")  # NaN, not reached, comes last
    held = np.cumsum(volume[order])
    reached = held >= share * volume.sum() * (1 - 1e-12)
    day = days[order][np.argmax(reached)]
    return None if np.isnan(day) else float(day)


def main(folder):
    load = lambda name: np.load(folder + "/" + name)
    with open(folder + "/case.toml", encoding="utf-8") as f:
        view = next(line.split('"')[1] for line in f if line.startswith("view"))
    with open(folder + "/summary.json", encoding="utf-8") as f:
        summary = json.load(f)
    with open(folder + "/fields/index.json", encoding="utf-8") as f:
        index = json.load(f)

    x, z = load("mesh/x_edges.npy"), load("mesh/z_edges.npy")
    # Only ratios of volumes matter: metres out of the page and the number of cells
    # on the site cancel.
    if view == "axisymmetric":
        across = np.pi * (x[1:] ** 2 - x[:-1] ** 2)  # ∫ 2πr dr
    else:
        across = np.diff(x)
    volume = np.outer(np.diff(z), across)
    target = load("mesh/zone.npy") == 1

    last = max((e for e in index if e["quantity"] == "temperature"), key=lambda e: e["time_d"])
    temperature = load("fields/" + last["file"])[target]
    days = load("fields/days_to_target.npy")[target]
    volume = volume[target]

    wrong = 0
    for key, got in [
        ("target_mean_C", float(np.average(temperature, weights=volume))),
        ("days_to_share_50", quantile(days, volume, 0.5)),
        ("days_to_share_90", quantile(days, volume, 0.9)),
    ]:
        want = summary[key]
        same = got is want if None in (got, want) else abs(got - want) <= 1e-6
        wrong += not same
        print(f"{key:18} {got!s:22} summary.json {want!s:22} {'' if same else 'DIFFERS'}")
    return 1 if wrong else 0


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: recompute.py FOLDER")
    sys.exit(main(sys.argv[1]))
