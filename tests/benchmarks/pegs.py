"""What setting out reaches on gardens that played no part in building it, and what it costs a peg.

Run `python tests/benchmarks/pegs.py [gardens]`: a table of shares set and inside tolerance, beside the way most
sheets are made (the same two house corners for every peg), and the time a peg in gardens of rising size.
"""

from __future__ import annotations

import math
import sys
import time
from pathlib import Path as File

import numpy as np

sys.path.insert(0, str(File(__file__).resolve().parents[1]))

from pegbook.geometry.errors import ModelError
from pegbook.geometry.features import Purpose
from pegbook.geometry.pegs.control import adjust
from pegbook.geometry.pegs.csvs import pegs_csv, recovery_csv
from pegbook.geometry.pegs.peg import Method, PegSet
from pegbook.geometry.pegs.proof import prove_set
from pegbook.geometry.pegs.setter import Setter
from pegbook.geometry.pegs.solve import set_out
from pegbook.geometry.pegs.tape import Options
from support.plots import Plot, large, plot

FRESH = 10_000


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


def table(first: int, count: int) -> None:
    """Print shares over gardens."""
    wanted = own = place = both = naive_set = naive_in = extra = shut = refused = checked = 0
    angle, largest, shares, elapsed = 90.0, 0.0, [], 0.0
    problems = 0
    for seed in range(first, first + count):
        garden = plot(seed)
        begun = time.perf_counter()
        try:
            pegs = pegged(garden)
        except ModelError as error:
            refused += 1
            shut += len(error.problems)
            wanted += len(error.problems)
            print(f"  garden {seed} refused: {error.problems[0]}")
            continue
        elapsed += time.perf_counter() - begun
        proof = prove_set(pegs, pegs_csv(pegs), recovery_csv(pegs))
        problems += not proof.good
        if proof.fault:
            print(f"  garden {seed}: {proof.fault}")
        mine = [p for p in pegs.pegs if p.element and p.purpose is not Purpose.RECOVERY]
        wanted += len(mine)
        own += len(mine)
        place += sum(p.position_limit is None or 2 * p.square <= p.position_limit for p in mine)
        both += sum(p.inside for p in mine)
        shares.append(sum(p.inside for p in mine) / len(mine))
        extra += sum(p.purpose is Purpose.AUXILIARY for p in pegs.pegs)
        checked += sum(bool(p.check_from) for p in mine)
        angle, largest = min(angle, least_angle(pegs)), max(largest, proof.largest)
        n_set, n_in = naive(garden, pegs)
        naive_set, naive_in = naive_set + n_set, naive_in + n_in
    low, high = spread(shares)
    print(f"{count} gardens, {wanted} pegs wanted, {refused} gardens refused ({shut} pegs)")
    print(f"{'way':38}{'set':>8}{'position':>10}{'both':>8}{'least angle':>13}")
    print(f"{'same two corners for all':38}{naive_set / wanted:8.3f}{naive_in / wanted:10.3f}")
    print(f"{'best way for each, best of orders':38}{own / wanted:8.3f}{place / wanted:10.3f}{both / wanted:8.3f}"
          f"{angle:13.1f}")
    print(f"both, 95 % over gardens: {low:.3f} to {high:.3f}; "
          f"extra marks a garden {extra / max(count - refused, 1):.1f}; "
          f"checked {checked / max(own, 1):.3f}; largest shift {largest:.1f} mm; proofs failed {problems}; "
          f"{elapsed / max(own, 1) * 1000:.2f} ms a peg")


def spread(shares: list[float]) -> tuple[float, float]:
    """Bootstrap interval of the mean, fixed seed."""
    rng = np.random.default_rng(1)
    means = [float(np.mean(rng.choice(shares, len(shares)))) for _ in range(2000)]
    return float(np.quantile(means, 0.025)), float(np.quantile(means, 0.975))


def cost() -> None:
    """Print seconds and milliseconds a peg for gardens of rising size."""
    for count in (200, 1000, 2000, 5000):
        garden = large(count)
        begun = time.perf_counter()
        pegs = pegged(garden)
        set_ = time.perf_counter() - begun
        begun = time.perf_counter()
        proof = prove_set(pegs, pegs_csv(pegs), recovery_csv(pegs))
        proved = time.perf_counter() - begun
        mine = sum(1 for p in pegs.pegs if p.element and p.purpose is not Purpose.RECOVERY)
        total = len(pegs.pegs)
        print(f"{mine:6d} pegs ({total} with marks and recovery): set {set_:6.2f} s, proved {proved:5.2f} s, "
              f"{(set_ + proved) / mine * 1000:.2f} ms a peg, good {proof.good}", flush=True)


if __name__ == "__main__":
    table(FRESH, int(sys.argv[1]) if len(sys.argv) > 1 else 40)
    cost()
