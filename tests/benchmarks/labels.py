"""Speed and quality of the search for label places. Run: `python tests/benchmarks/labels.py`.

Prints CPU seconds against the limits, cost against the proved optimum (scipy's milp on the same options), and the
share of conflict-free labels on the random page of Christensen, Marks and Shieber (1995; page, label and figures
from memory: greedy 75.2 and annealing 98.3 per cent at 500 points, 4 positions; the best published 99.7).
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from pegbook.drawings.annotate import place
from pegbook.drawings.blocks import block
from pegbook.drawings.candidates import Anchor, Options, led, options, touching
from pegbook.drawings.clearance import TEXT_CLEAR
from pegbook.drawings.obstacles import ObstacleIndex
from pegbook.drawings.placing import Search
from support.label_sheets import LABEL, random_points, setting_out_sheet
from support.optimum import optimum

LIMITS = {("A3", 120): 0.1, ("A3", 250): 0.25, ("A2", 250): 0.25, ("A2", 500): 1.0, ("A1", 500): 1.0}
SEEDS = 4


def speed() -> None:
    """Print CPU seconds of whole placements."""
    print("sheet  labels  fill  leaders  mean mm  longest  CPU s  limit  ratio")
    for (size, count), limit in LIMITS.items():
        for seed in range(SEEDS):
            sheet = setting_out_sheet(size, count, seed)
            start = time.process_time()
            report = place(sheet.requests, sheet.obstacles, sheet.field).report
            used = time.process_time() - start
            print(f"{size:5}  {count:6}  {report.crowding.fill:.2f}  {report.leaders:7}  {report.mean_leader:7.1f}  "
                  f"{report.longest_leader:7.1f}  {used:5.2f}  {limit:5.2f}  {used / limit:5.2f}")


def quality() -> None:
    """Print the cost of the search over the optimum of the same options."""
    print("sheet  labels  without place  cost  optimum  ratio")
    for size, count in (("A3", 60), ("A3", 120), ("A3", 250), ("A2", 250)):
        for seed in range(SEEDS):
            sheet = setting_out_sheet(size, count, seed)
            index = ObstacleIndex(sheet.obstacles, sheet.field)
            anchors = [Anchor(k, r.name, r.at.x, r.at.y, r.radius, block(r.lines), r.gaps, r.places, r.leader)
                       for k, r in enumerate(sheet.requests)]
            pool = touching(anchors, index)
            search = Search(count, pool)
            search.run(range(count), lambda lot, a=anchors, i=index: led([a[k] for k in lot], i))
            for label in search.unplaced():
                search.settle(label, 3, 120)
            search.polish()
            best = optimum(count, Options.joined([pool, led(anchors, index)]))
            ratio = search.cost() / best if best else 0.0
            without = len(search.unplaced())
            print(f"{size:5}  {count:6}  {without:13}  {search.cost():6.1f}  {best or 0:7.1f}  {ratio:.3f}")


def random_page() -> None:
    """Print the share of labels placed without conflict at eight positions of the random page."""
    wide, high = LABEL
    print("points  placed without conflict, per cent (8 positions, labels also off every point)")
    for count in (100, 250, 500, 750, 1000):
        shares = []
        for seed in range(SEEDS):
            at = np.array([(p.x, p.y) for p in random_points(count, seed)])
            lots = []
            for sx, sy in ((1, 1), (-1, 1), (1, -1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1)):
                centre = at + np.array([sx * wide / 2, sy * high / 2])
                half = np.full((count, 2), (wide / 2 - TEXT_CLEAR / 2, high / 2 - TEXT_CLEAR / 2))
                boxes = np.column_stack((centre, half, np.ones(count), np.zeros(count)))
                gap = np.abs(centre[:, None, :] - at[None, :, :]) - np.array([wide / 2, high / 2])
                covers = ((gap < -1e-6).all(axis=2)).any(axis=1)
                keep = ~covers
                lots.append(options(np.flatnonzero(keep), boxes[keep], np.zeros(int(keep.sum())), 0, "touching"))
            search = Search(count, Options.joined(lots))
            search.construct()
            for label in search.unplaced():
                search.settle(label)
            shares.append(100 * (1 - len(search.unplaced()) / count))
        print(f"{count:6}  {np.mean(shares):.1f}")


if __name__ == "__main__":
    speed()
    random_page()
    quality()
