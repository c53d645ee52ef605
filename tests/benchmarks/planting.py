"""How long planting takes: a border of 60 m2 with 14 kinds and 30 groups, and random beds. Run it, it prints."""

from __future__ import annotations

import sys
import time
from pathlib import Path as File

sys.path.insert(0, str(File(__file__).parents[1]))

from pegbook.geometry.kernel.point import Point
from pegbook.geometry.planting.mix import BedInput, MixEntry
from pegbook.geometry.planting.plan import plant_bed
from support.beds import large_bed, plant, random_bed, straight_bed


def border() -> BedInput:
    """60 m2, 14 kinds, 30 groups, one tree stem's worth of single plants."""
    spacings = (0.3, 0.35, 0.4, 0.45, 0.5, 0.6, 0.35)
    plants = [plant(f"kind {k}", spacings[k % 7], height=0.3 + 0.1 * k) for k in range(14)]
    groups = [3 if k < 2 else 2 for k in range(14)]
    mix = [MixEntry(plant=p.name, groups=n, share=n / 30) for p, n in zip(plants, groups, strict=True)]
    mix.append(MixEntry(plant="ball", at=(Point(4, 1.5), Point(14, 1.5))))
    return straight_bed(20, 3.0, mix, [*plants, plant("ball", 0.9)])


def main() -> None:
    """Print seconds of processor time."""
    bed = border()
    plant_bed(bed)
    times = []
    for _ in range(5):
        start = time.process_time()
        planted = plant_bed(bed)
        times.append(time.process_time() - start)
    print(f"60 m2, 14 kinds, {len(planted.groups)} groups, {sum(planted.counts().values())} plants: "
          f"{min(times):.2f} s best of 5, {max(times):.2f} s worst; "
          f"limit 1.5 s, aim 0.8 s ({min(times) / 0.8:.2f} of it)")
    beds("20 beds of 5 to 70 m2", [random_bed(number) for number in range(20)])
    beds("60 beds of 70 to 300 m2", [large_bed(number) for number in range(60)])


def beds(what: str, given: list[BedInput]) -> None:
    """Print how long these beds take, and how full they are."""
    spent, held, area = [], 0, 0.0
    for bed in given:
        start = time.process_time()
        planted = plant_bed(bed)
        spent.append(time.process_time() - start)
        held += sum(len(g.points) for g in planted.groups)
        area += sum(g.nominal for g in planted.groups)
    print(f"{what}: mean {sum(spent) / len(spent):.2f} s, worst {max(spent):.2f} s (limit 2 s); {held} plants, "
          f"{held / area:.3f} of area / (0.866 s2)")


if __name__ == "__main__":
    main()
