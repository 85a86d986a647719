"""Ideal solutions with the same constants: this project's engine beside a general-purpose Python library, in one run.

Usage: python aqueous_side_by_side.py > AQUEOUS_SIDE_BY_SIDE.md
Needs the package `chempy` (general-purpose chemistry for Python, BSD licence) and cargo. Both are timed here, on the same
machine, one after the other; the library's time is that of its solver from a start near the totals, without building
the system.
"""

import json
import math
import subprocess
import time
from collections import defaultdict

from chempy.equilibria import EqSystem, NumSysLog

PKW = 13.997
WATER = 55.508


def engine():
    command = ["cargo", "bench", "-q", "-p", "engine", "--bench", "systems", "--profile", "dev"]
    lines = subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()
    found = [json.loads(line) for line in lines if line.startswith("{")]
    return {one["system"]: one for one in found}


def library(text, start, repeats=3):
    """pH and microseconds; equilibria as text, amounts in mol/L."""
    system = EqSystem.from_string(text)
    amounts = defaultdict(float, start)
    best, ph = float("inf"), float("nan")
    for _ in range(repeats):
        began = time.perf_counter()
        values, info, sane = system.root(amounts, NumSys=(NumSysLog,))
        best = min(best, time.perf_counter() - began)
        names = list(system.substances)
        ph = -math.log10(values[names.index("H+")])
    return ph, best * 1e6, bool(info["success"]) and bool(sane)


WATER_LINE = f"H2O = H+ + OH-; {10**-PKW / WATER!r}\n"
SYSTEMS = {
    "acetic acid": (
        WATER_LINE + f"CH3COOH = H+ + CH3COO-; {10**-4.756!r}",
        {"H2O": WATER, "CH3COOH": 0.1, "H+": 1e-7, "OH-": 1e-7},
    ),
    "oxalic acid, half neutralised": (
        WATER_LINE + f"HC2O4- = H+ + C2O4-2; {10**-4.266!r}\nH2C2O4 = H+ + HC2O4-; {10**-1.252!r}",
        {"H2O": WATER, "HC2O4-": 0.05, "H+": 1e-7, "OH-": 1e-7},
    ),
    "copper in ammonia": (
        WATER_LINE
        + f"NH4+ = H+ + NH3; {10**-9.245!r}\n"
        + f"Cu+2 + NH3 = CuNH3+2; {10**4.04!r}\n"
        + f"CuNH3+2 + NH3 = CuN2H6+2; {10**3.43!r}\n"
        + f"CuN2H6+2 + NH3 = CuN3H9+2; {10**2.80!r}\n"
        + f"CuN3H9+2 + NH3 = CuN4H12+2; {10**1.48!r}",
        {"H2O": WATER, "NH3": 0.5, "Cu+2": 0.01, "H+": 1e-7, "OH-": 1e-7},
    ),
}


def main():
    own = engine()
    print("# Solutions side by side\n")
    print("Made by `benches/aqueous_side_by_side.py`: ideal activities, constants as in the script, both in one run on one machine.\n")
    print("| system | pH here | pH of the library | here, µs | library, µs |")
    print("|---|---|---|---|---|")
    for name, (text, start) in SYSTEMS.items():
        mine = own[name]
        try:
            ph, micro, good = library(text, start)
            other = f"{ph:.5f}" + ("" if good else " (not converged)")
            spent = f"{micro:.0f}"
        except Exception as error:  # the library's own failure is a result
            other, spent = f"failed: {type(error).__name__}", ""
        print(f"| {name} | {mine['ph']:.5f} | {other} | {mine['microseconds']:.1f} | {spent} |")
    print(f"\nTitration of oxalic acid, 300 points: {own['titration, 300 points']['microseconds'] / 1e3:.2f} ms here (goal 50).")
    print(f"Fields of a potential-pH diagram of 20 forms: {own['fields of 20 forms']['microseconds']:.1f} µs (goal 0.3 s).")


if __name__ == "__main__":
    main()
