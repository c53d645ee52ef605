"""What setting out reaches on gardens that played no part in building it, and what it costs a peg.

Run `python tests/benchmarks/pegs.py [gardens] [first seed]`: a table of shares set and inside tolerance, beside the way
most sheets are made (the same two house corners for every peg), and the time a peg in gardens of rising size. With
`--cost [sizes]` the time alone.
Position is that of the pegs as set; both are position and shape, as set and after the truing up that the sheet asks
for. The naive way knows no shape: its share inside is that of position alone.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path as File

import numpy as np

sys.path.insert(0, str(File(__file__).resolve().parents[1]))

from pegbook.geometry.errors import ModelError
from pegbook.geometry.features import Purpose
from pegbook.geometry.pegs.control import adjust
from pegbook.geometry.pegs.csvs import pegs_csv, recovery_csv
from pegbook.geometry.pegs.peg import CheckKind, Method, PegSet
from pegbook.geometry.pegs.proof import prove_set
from pegbook.geometry.pegs.setter import Setter
from pegbook.geometry.pegs.solve import set_out
from pegbook.geometry.pegs.tape import Options
from support.crossed import crossed
from support.plots import Plot, large, plot

FRESH = 10_000
RUNS = 3


def pegged(garden: Plot, options: Options | None = None) -> PegSet:
    """Set a garden out."""
    return set_out(garden.peggings, adjust(garden.marks), garden.obstacles, garden.boundary, options or Options())


def naive(garden: Plot, pegs: PegSet) -> tuple[int, int]:
    """How many of the pegs the same two corners set, and how many of those are inside their position tolerance."""
    setter = Setter(garden.peggings, adjust(garden.marks), garden.obstacles, garden.boundary, Options())
    a, b = (np.array(m.at) for m in setter.ground.settings[:2])
    tape = Options().tape
    own = [p for p in pegs.pegs if p.element and p.purpose is not Purpose.RECOVERY]
    spots = np.array([(p.at.x, p.at.y) for p in own])
    sight = setter.sights[1]
    free = (sight.free(np.broadcast_to(a, spots.shape), spots) & sight.free(np.broadcast_to(b, spots.shape), spots))
    done = inside = 0
    for p, spot, ok in zip(own, spots, free, strict=True):
        u, v = spot - a, spot - b
        r, s = float(np.hypot(*u)), float(np.hypot(*v))
        sine = abs(float(u[0] * v[1] - u[1] * v[0])) / (r * s)
        if not ok or max(r, s) > tape.length or sine < 0.5:
            continue
        done += 1
        error = math.hypot(math.hypot(tape.sd(r), tape.sd(s)) / sine, math.sqrt(2) * tape.peg_sd) * 1000
        inside += p.position_limit is None or 2 * error <= p.position_limit
    return done, inside


def least_angle(pegs: PegSet) -> float:
    """The sharpest cut of two tapes without a third, degrees."""
    return min((min(p.angle, 180 - p.angle) for p in pegs.pegs
                if p.angle is not None and p.method in (Method.TIES, Method.RADIUS) and not p.from_3), default=90.0)


@dataclass
class Tally:
    """What a campaign adds up to; shares are of all pegs wanted, those of refused gardens among them."""

    wanted: int = 0
    set: int = 0
    place: int = 0                   # inside in position, before truing up
    before: int = 0                  # inside in position and shape, before truing up
    after: int = 0                   # the same after truing up, where the sheet asks for it
    naive_set: int = 0
    naive_in: int = 0
    refused: int = 0
    shapes: int = 0
    trued: int = 0
    extra: int = 0
    lines: int = 0
    checked: int = 0
    failed: int = 0                  # proofs
    crossed: int = 0                 # tapes and strings over what stands
    angle: float = 90.0
    largest: float = 0.0             # shift by rounding, mm
    seconds: float = 0.0
    shares: list[float] = field(default_factory=list)

    def take(self, garden: Plot, pegs: PegSet, seconds: float) -> None:
        """Count one garden."""
        mine = [p for p in pegs.pegs if p.element and p.purpose is not Purpose.RECOVERY]
        proof = prove_set(pegs, pegs_csv(pegs), recovery_csv(pegs))
        self.wanted += len(mine)
        self.set += len(mine)
        self.place += sum(p.position_limit is None or 2 * p.square <= p.position_limit + 1e-9 for p in mine)
        self.before += sum(p.inside_as_set for p in mine)
        self.after += sum(p.inside for p in mine)
        self.shares.append(sum(p.inside for p in mine) / len(mine))
        n_set, n_in = naive(garden, pegs)
        self.naive_set, self.naive_in = self.naive_set + n_set, self.naive_in + n_in
        self.shapes, self.trued = self.shapes + len(pegs.elements), self.trued + len(pegs.held)
        self.extra += sum(p.purpose is Purpose.AUXILIARY for p in pegs.pegs)
        self.lines += sum(c.kind is CheckKind.TRUE and not c.element for c in pegs.checks)
        self.checked += sum(bool(p.check_from) for p in mine)
        self.failed += not proof.good
        self.crossed += sum(1 for _ in crossed(garden, pegs))
        self.angle, self.largest = min(self.angle, least_angle(pegs)), max(self.largest, proof.largest)
        self.seconds += seconds


def campaign(first: int, count: int) -> Tally:
    """Set out the gardens of `count` seeds from `first` on."""
    tally = Tally()
    for seed in range(first, first + count):
        garden = plot(seed)
        begun = time.perf_counter()
        try:
            pegs = pegged(garden)
        except ModelError as error:
            tally.refused += 1
            tally.wanted += len(error.problems)
            print(f"  garden {seed} refused: {error.problems[0]}")
            continue
        tally.take(garden, pegs, time.perf_counter() - begun)
    return tally


def table(first: int, count: int) -> None:
    """Print shares over gardens."""
    t = campaign(first, count)
    low, high = spread(t.shares)
    print(f"{count} gardens (seeds {first} to {first + count - 1}), {t.wanted} pegs wanted, {t.refused} refused")
    print(f"{'way':30}{'set':>7}{'position':>10}{'both, as set':>14}{'both, trued up':>16}{'least angle':>13}"
          f"{'largest shift':>15}")
    print(f"{'same two corners for all':30}{t.naive_set / t.wanted:7.3f}{t.naive_in / t.wanted:10.3f}")
    print(f"{'best way for each':30}{t.set / t.wanted:7.3f}{t.place / t.wanted:10.3f}{t.before / t.wanted:14.3f}"
          f"{t.after / t.wanted:16.3f}{t.angle:13.1f}{t.largest:12.1f} mm")
    print(f"both trued up, 95 % over gardens: {low:.3f} to {high:.3f}; shapes trued up {t.trued} of {t.shapes}; "
          f"extra marks {t.extra / max(count - t.refused, 1):.1f} a garden, braced by "
          f"{t.lines / max(count - t.refused, 1):.1f} lines; checked {t.checked / max(t.set, 1):.3f}; "
          f"tapes over what stands {t.crossed}; proofs failed {t.failed}; "
          f"{t.seconds / max(t.set, 1) * 1000:.2f} ms a peg")


def spread(shares: list[float]) -> tuple[float, float]:
    """Bootstrap interval of the mean, fixed seed."""
    rng = np.random.default_rng(1)
    means = [float(np.mean(rng.choice(shares, len(shares)))) for _ in range(2000)]
    return float(np.quantile(means, 0.025)), float(np.quantile(means, 0.975))


def cost(sizes: Sequence[int] = (200, 500, 1000, 2000, 5000)) -> None:
    """Print seconds and milliseconds a peg of this process (the least of three) for gardens of rising size.

    Once with digs, so with recovery pegs, and once without; auxiliary control is in both.
    """
    for digs in (True, False):
        each: list[float] = []
        for count in sizes:
            garden = large(count)
            if not digs:
                garden = replace(garden, peggings=tuple(replace(p, dug=()) for p in garden.peggings))
            set_, proved, pegs = min((_timed(garden) for _ in range(RUNS)), key=lambda run: run[0] + run[1])
            mine = sum(1 for p in pegs.pegs if p.element and p.purpose is not Purpose.RECOVERY)
            each.append((set_ + proved) / mine * 1000)
            print(f"{mine:6d} pegs ({len(pegs.pegs)} with marks and recovery): set {set_:6.2f} s, "
                  f"proved {proved:5.2f} s, {each[-1]:.2f} ms a peg", flush=True)
        print(f"{'with' if digs else 'without'} recovery: dearest peg / cheapest peg {max(each) / min(each):.2f}")


def _timed(garden: Plot) -> tuple[float, float, PegSet]:
    begun = time.process_time()
    pegs = pegged(garden)
    middle = time.process_time()
    assert prove_set(pegs, pegs_csv(pegs), recovery_csv(pegs)).good
    return middle - begun, time.process_time() - middle, pegs


if __name__ == "__main__":
    if sys.argv[1:2] == ["--cost"]:
        cost([int(size) for size in sys.argv[2:]] or (200, 500, 1000, 2000, 5000))
    else:
        table(int(sys.argv[2]) if len(sys.argv) > 2 else FRESH, int(sys.argv[1]) if len(sys.argv) > 1 else 40)
        cost()
