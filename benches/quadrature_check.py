#!/usr/bin/env python3
"""Do the account's posteriors and evidences agree with a calculation of another kind?

Written from the description of the model alone (the priors and the order of operations as documented, the printed page
of the account), without any code of the project. Everything but the composition of the precipitate is drawn from its
prior; for each draw the one unknown of a composition (hydration, loose water, share of azurite) is integrated on a grid,
and the masses of crucible and portion, about which nothing is known beforehand, in closed form. That is quadrature with
plain Monte Carlo: no fit, no chain, no tempering.

Use: python3 benches/quadrature_check.py PROGRAM   (needs numpy and scipy; PROGRAM is the built program)
"""

import json
import subprocess
import sys

import numpy as np
from scipy import stats

SEED, DRAWS, GRID = 20260504, 40_000, 200
COPPER, WATER, PENTAHYDRATE = 63.546, 18.015, 249.68
MALACHITE, AZURITE, OXIDE = 221.11, 344.67, 79.545  # two, three and one copper
ROOT12 = 12**0.5


def usually(rng, low, high, size):
    """A loss known by its 5 % and 95 % points and reaching down to nothing: Weibull through both."""
    a, b = -np.log(0.95), -np.log(0.05)
    shape = np.log(b / a) / np.log(high / low)
    return low / a ** (1 / shape) * rng.weibull(shape, size)


def film(rng, high, size):
    """A film of which the usual upper end is the 95 % point of an exponential."""
    return rng.exponential(high / np.log(20), size)


def up_to_the_oven(rng, n):
    """Moles of copper and grams of salts that reach the oven, and the fibre of the paper."""
    charge = rng.normal(100.0, 0.1 / ROOT12, n)
    assay = rng.uniform(0.98, 1.0, n)
    rest = charge * (1 - assay)
    kinds = rng.dirichlet([1, 1, 1, 1], n) * rest[:, None]  # two dissolve, two do not
    insoluble = kinds[:, 2] + kinds[:, 3]
    copper = charge * assay / PENTAHYDRATE
    liquor = charge - insoluble + rng.normal(400, 1 / ROOT12, n)
    kept = 1 - film(rng, 0.1, n) / (liquor + insoluble)
    copper, liquor = copper * kept, liquor * kept
    # First filter: what paper and grit hold, washed twice with 20 g.
    held = usually(rng, 2, 10, n) + usually(rng, 0.5, 3, n) * insoluble
    copper *= 1 - held / liquor * (held / (held + 20)) ** 2
    liquor += 40 - held
    # Precipitation; soda crystals effloresced to an unknown degree, always enough of them.
    mix = rng.uniform(0, 1, n)
    soda = rng.normal(126, 1 / ROOT12, n)
    carbonate = soda * (mix / 286.14 + (1 - mix) / 124.00)
    turned = copper * rng.beta(200, 1, n)
    sulfate_left, carbonate_left = copper - turned, carbonate - turned
    slurry = liquor + soda + rng.normal(500, 1 / ROOT12, n) - 0.5 * turned * 44.01
    kept = 1 - film(rng, 0.1, n) / slurry
    turned, sulfate_left, carbonate_left, slurry = (v * kept for v in (turned, sulfate_left, carbonate_left, slurry))
    # Suction filter and four washes of 100 g.
    solids = turned / 2 * MALACHITE
    held = rng.normal(63, 10, n)
    stays = held / (slurry - solids) * (held / (held + 100)) ** 4
    turned = turned * (1 - rng.beta(1, 400, n))
    salts = stays * np.stack([sulfate_left * 159.60, carbonate_left * 105.99, turned * 142.04])
    cake = turned / 2 * MALACHITE + held
    kept = (1 - film(rng, 0.2, n) / cake) * (1 - usually(rng, 0.01, 0.05, n))
    return turned * kept, salts * kept, rng.exponential(0.005, n)


class Tally:
    """Weighted sums over the grids of one case."""

    def __init__(self):
        self.weight = self.total = self.squares = 0.0
        self.logs = {}

    def add(self, name, likelihoods, grams):
        """One composition: likelihood and grams of the element for each grid point and draw."""
        weight = sum(part.sum() for part in likelihoods)
        self.logs[name] = np.log(weight / GRID / DRAWS)
        self.weight += weight
        self.total += sum((part * g).sum() for part, g in zip(likelihoods, grams))
        self.squares += sum((part * g**2).sum() for part, g in zip(likelihoods, grams))

    def told(self):
        mean = self.total / self.weight
        return mean, np.sqrt(self.squares / self.weight - mean**2), self.logs


def points():
    return (np.arange(GRID) + 0.5) / GRID


def bluestone(salt_bound, seed):
    """Copper in the dried precipitate."""
    rng = np.random.default_rng(seed)
    copper, salts, fibre = up_to_the_oven(rng, DRAWS)
    sulfate, rest = salts[0], salts[1] + salts[2]
    drying = film(rng, 0.05, DRAWS), usually(rng, 0.001, 0.005, DRAWS)
    slope, bow = rng.normal(0, 2e-4, DRAWS), rng.normal(0, 0.01, DRAWS)
    trace = rng.uniform(0, salt_bound, DRAWS) if salt_bound else np.zeros(DRAWS)
    tally = Tally()
    for name in ("hydrate", "moist", "azurite"):
        likelihoods, grams = [], []
        for x in points():
            loose = 0.10 * x if name == "moist" else 0.0
            per_copper = {
                "hydrate": (MALACHITE + x * WATER) / 2,
                "moist": MALACHITE / 2,
                "azurite": (1 - x) * MALACHITE / 2 + x * AZURITE / 3,
            }[name]
            whole = (copper * per_copper + sulfate + rest + fibre) / (1 - trace - loose)
            kept = (1 - drying[0] / whole) * (1 - drying[1])
            mass, metal = whole * kept, copper * kept
            ratio = (metal * OXIDE + (sulfate + rest) * kept + trace * mass) / mass
            shown = mass * (1 + slope) + bow * 4 * mass / 200 * (1 - mass / 200)
            spread = 0.002 * np.sqrt(1 + (1 - ratio) ** 2 + ratio**2)
            burnt = stats.norm.pdf(26.522 - 25.130, ratio * (27.130 - 25.130), spread)
            likelihoods.append(stats.norm.pdf(43.90, shown, 0.015) * burnt)
            grams.append((metal + sulfate * kept / 159.60) * COPPER)
        tally.add(name, likelihoods, grams)
    return tally.told()


def magnesia(_, seed):
    """Magnesium in magnesia that weighs more than the oxide can: slaked or carbonated in part."""
    rng = np.random.default_rng(seed)
    n = DRAWS
    slope, bow = rng.normal(0, 2e-4, n), rng.normal(0, 0.01, n)
    charge = (rng.normal(120.0, 0.015, n) - bow * 4 * 0.6 * 0.4) / (1 + slope)
    metal = charge * rng.uniform(0.99, 1, n) / 246.47
    metal *= (1 - film(rng, 0.1, n) / 520) * rng.beta(200, 1, n)
    metal *= (1 - film(rng, 0.1, n) / 974) * (1 - rng.beta(1, 400, n))
    cake = metal * 467.64 / 5 + rng.normal(120, 20, n)
    metal *= (1 - film(rng, 0.2, n) / cake) * (1 - usually(rng, 0.01, 0.05, n))
    metal *= (1 - film(rng, 0.05, n) / (metal * 467.64 / 5)) * (1 - usually(rng, 0.001, 0.005, n))
    ignition = film(rng, 0.05, n), usually(rng, 0.002, 0.01, n)
    tally = Tally()
    for name, heavier in (("hydroxide", 58.319), ("carbonate", 84.313)):
        likelihoods, grams = [], []
        for x in points():
            whole = metal * ((1 - x) * 40.304 + x * heavier) + 0.007
            kept = (1 - ignition[0] / whole) * (1 - ignition[1])
            mass = whole * kept
            shown = mass * (1 + slope) + bow * 4 * mass / 200 * (1 - mass / 200)
            likelihoods.append(stats.norm.pdf(20.90, shown, 0.015))
            grams.append(metal * kept * 24.305)
        tally.add(name, likelihoods, grams)
    return tally.told()


def lozenges(_, seed):
    """Zinc in the oxide from assayed lozenges: moist, or carbonated in part."""
    rng = np.random.default_rng(seed)
    n = DRAWS
    slope, bow = rng.normal(0, 2e-4, n), rng.normal(0, 0.01, n)
    charge = (rng.normal(250.0, 0.015, n) - bow) / (1 + slope)
    metal = charge * rng.normal(0.023, 0.0001, n) / rng.normal(1.25, 0.001, n) / 65.38
    ash = metal * 81.379
    metal = metal * (1 - film(rng, 0.05, n) / ash) * (1 - usually(rng, 0.002, 0.01, n))
    soluble, insoluble = rng.exponential(0.02, n), rng.exponential(0.02, n)
    passes = 1 - rng.beta(1, 400, n)
    metal, insoluble = metal * passes, insoluble * passes
    solids = metal * 81.379 + insoluble
    held = usually(rng, 2, 10, n) + usually(rng, 0.5, 3, n) * solids
    soluble = soluble * held / 200 * (held / (held + 50)) ** 3
    kept = (1 - film(rng, 0.2, n) / (solids + held)) * (1 - usually(rng, 0.005, 0.02, n))
    metal, soluble, insoluble = metal * kept, soluble * kept, insoluble * kept
    foreign = soluble + insoluble + rng.exponential(0.005, n)
    drying = film(rng, 0.05, n), usually(rng, 0.001, 0.005, n)
    tally = Tally()
    for name in ("moist", "carbonate"):
        likelihoods, grams = [], []
        for x in points():
            loose, per_zinc = (0.10 * x, 81.379) if name == "moist" else (0, (1 - x) * 81.379 + x * 549.00 / 5)
            whole = (metal * per_zinc + foreign) / (1 - loose)
            kept = (1 - drying[0] / whole) * (1 - drying[1])
            mass = whole * kept
            shown = mass * (1 + slope) + bow * 4 * mass / 500 * (1 - mass / 500)
            likelihoods.append(stats.norm.pdf(6.10, shown, 0.015))
            grams.append(metal * kept * 65.38)
        tally.add(name, likelihoods, grams)
    return tally.told()


def told(program, file, supposed, lot, element, names):
    """What the program says of a lot: mean and standard deviation in grams, and log evidences by name."""
    text = subprocess.run(
        [program, "account", f"examples/{file}.toml", "--json"], capture_output=True, check=True, text=True
    ).stdout
    part = json.loads(text)
    part = part["suppositions"][0] if supposed else part
    found = next(one for one in part["lots"] if one["name"] == lot)["elements"][element]["mass"]
    logs = {}
    for hypothesis in part["hypotheses"]:
        name = next((name for name, mark in names.items() if mark in hypothesis["text"]), None)
        if hypothesis.get("log_evidence") is not None and name:
            logs[name] = hypothesis["log_evidence"]
    return found["mean"], found["standard_uncertainty"], logs


COPPERS = {"hydrate": "nH2O", "azurite": "Cu3(CO3)2", "moist": "H2O(l)"}
CASES = [
    ("bluestone, no salt", bluestone, 0.0, ("bluestone", False, "precipitate", "Cu", COPPERS), "moist"),
    ("bluestone, salt up to 2 %", bluestone, 0.02, ("bluestone", True, "precipitate", "Cu", COPPERS), "moist"),
    (
        "magnesia from Epsom salt",
        magnesia,
        0.0,
        ("epsom-magnesia", False, "magnesia", "Mg", {"hydroxide": "MgO(s) with Mg(OH)2", "carbonate": "MgO(s) with MgCO3"}),
        "carbonate",
    ),
    (
        "zinc oxide from lozenges",
        lozenges,
        0.0,
        ("zinc-lozenges-assayed", False, "zinc oxide", "Zn", {"carbonate": "Zn5(CO3)2", "moist": "ZnO(s) with H2O"}),
        "carbonate",
    ),
]


def main():
    program = sys.argv[1] if len(sys.argv) > 1 else "target/debug/tarebook"
    print("| case | by | element in the lot, g | evidence ratios, ln |\n|---|---|---|---|")
    for case, model, bound, asked, base in CASES:
        rows = [("program", told(program, *asked))]
        rows += [(f"quadrature {k + 1}", model(bound, SEED + k)) for k in range(4)]
        for who, (mean, deviation, logs) in rows:
            ratios = ", ".join(f"{name} : {base} {logs[name] - logs[base]:+.2f}" for name in logs if name != base)
            print(f"| {case} | {who} | {mean:.4f} ± {deviation:.4f} | {ratios} |")


if __name__ == "__main__":
    main()
