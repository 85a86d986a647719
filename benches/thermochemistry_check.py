#!/usr/bin/env python3
"""Compares the table of heat capacity polynomials with the NIST-JANAF tables.

Question it answers: how far do Cp, S and the heat content H(T) − H(298.15 K) of data/thermo.tsv lie from the NIST-JANAF
Thermochemical Tables (4th edition, M. W. Chase 1998) at 500, 1000 and 1500 K? Only differences are printed: the tables
themselves are under copyright. They are read from the free package janaf 1.4.0, whose folder of tables is the argument.

Usage: thermochemistry_check.py path/to/janaf/data > benches/THERMOCHEMISTRY.md
"""

import math
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
GAS_CONSTANT = 8.31451
TEMPERATURES = (500, 1000, 1500)
# Species of the polynomial table and the formula with phase in the heads of the other tables.
SPECIES = """
H2(g) H2|O2(g) O2|N2(g) N2|Cl2(g) Cl2|F2(g) F2|H2O(g) H2O|CO(g) CO|CO2(g) CO2|CH4(g) CH4|NH3(g) H3N|NO(g) NO|NO2(g) NO2
N2O(g) N2O|HCl(g) ClH|HF(g) FH|HBr(g) BrH|H2S(g) H2S|SO2(g) O2S|SO3(g) O3S|S2(g) S2|COS(g) COS|CS2(g) CS2|SiO(g) OSi
SiCl4(g) Cl4Si|TiCl4(g) Cl4Ti|P4(g) P4|PCl3(g) Cl3P|OH(g) HO|H(g) H|O(g) O|Na(g) Na|K(g) K|NaCl(g) ClNa|KCl(g) ClK
AlCl3(g) AlCl3|FeCl2(g) Cl2Fe|HCN(g) CHN|C2H2(g) C2H2|C2H4(g) C2H4|SiF4(g) F4Si|BF3(g) BF3
C(s) C|Al2O3(s) Al2O3|MgO(s) MgO|CaO(s) CaO|Fe2O3(s) Fe2O3|TiO2(s) O2Ti|Cr2O3(s) Cr2O3|Al(s) Al|Fe(s) Fe|Cu(s) Cu
Mg(s) Mg|Si(s) Si|Ni(s) Ni|Ti(s) Ti|Cr(s) Cr|NaCl(s) ClNa|KCl(s) ClK|Na2CO3(s) CNa2O3|K2CO3(s) CK2O3|Na2SO4(s) Na2O4S
CaCl2(s) CaCl2|MgCl2(s) Cl2Mg|FeS2(s) FeS2|Cu2O(s) Cu2O|CuO(s) CuO|V2O5(s) O5V2|SiC(s) CSi|AlN(s) AlN|TiN(s) NTi
MgAl2O4(s) Al2MgO4|Mg2SiO4(s) Mg2O4Si|B2O3(s) B2O3|LiF(s) FLi|NaF(s) FNa|CaF2(s) CaF2
""".replace("\n", "|")


def records():
    """Intervals by species."""
    found, heads = {}, None
    for line in (ROOT / "data/thermo.tsv").read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            continue
        cells = line.split("\t")
        if heads is None:
            heads = cells
            continue
        row = dict(zip(heads, cells))
        a = [float(row[f"a{i}"]) for i in range(1, 8)]
        b = [float(row["b1"]), float(row["b2"])]
        name = f"{row['formula']}({row['phase']})"
        found.setdefault(name, []).append((float(row["low_k"]), float(row["high_k"]), a, b, row["primary"]))
    return found


def values(intervals, t):
    """Cp, S and H at T, of the interval that holds it."""
    held = [part for part in intervals if part[0] <= t <= part[1]]
    if not held:
        return None
    _, _, a, b, _ = held[0]
    cp = sum(c * t ** (i - 2) for i, c in enumerate(a))
    h = -a[0] / t + a[1] * math.log(t) + a[2] * t + sum(a[i] * t ** (i - 1) / (i - 1) for i in range(3, 7)) + b[0]
    s = -a[0] / (2 * t * t) - a[1] / t + a[2] * math.log(t) + sum(a[i] * t ** (i - 2) / (i - 2) for i in range(3, 7)) + b[1]
    return GAS_CONSTANT * cp, GAS_CONSTANT * s, GAS_CONSTANT * h / 1000


def composition(formula):
    """Atoms of a plain formula."""
    counts = {}
    for symbol, number in re.findall(r"([A-Z][a-z]?)(\d*)", formula):
        counts[symbol] = counts.get(symbol, 0) + int(number or 1)
    return counts


def printed(folder):
    """Tables by composition and phase: head and rows."""
    found = {}
    for path in sorted(folder.glob("*.txt")):
        lines = path.read_text(encoding="latin-1").splitlines()
        name, _, tail = lines[0].partition("\t")
        match = re.match(r"^([A-Za-z0-9]+)\((ref|cr|g|cr,l)\)$", tail.strip())
        if not match or "Beta" in name or "Gamma" in name or "Delta" in name:
            continue
        phase = "g" if match.group(2) == "g" else "s"
        rows = {}
        for line in lines[2:]:
            cells = line.split("\t")
            try:
                rows[float(cells[0])] = [float(cells[i]) for i in (1, 2, 4)]
            except (ValueError, IndexError):
                continue
        key = (frozenset(composition(match.group(1)).items()), phase)
        if match.group(2) == "ref":
            # A reference table runs through melting and boiling: of use where the element stays in this phase.
            found.setdefault((key[0], "s"), (path.stem, name, rows))
            found.setdefault((key[0], "g"), (path.stem, name, rows))
        else:
            found[key] = (path.stem, name, rows)
    return found


def main():
    """Prints the report."""
    ours, theirs = records(), printed(pathlib.Path(sys.argv[1]))
    lines, widest, compared, missing = [], [], 0, []
    for pair in [part.strip() for part in SPECIES.split("|") if part.strip()]:
        name, formula = pair.split()
        phase = name[-2]
        other = theirs.get((frozenset(composition(formula).items()), phase))
        if other is None:
            missing.append(name)
            continue
        stem, _, rows = other
        standing = values(ours[name], 298.15)
        cells, any_row = [name, stem], False
        for t in TEMPERATURES:
            own = values(ours[name], t)
            row = rows.get(float(t))
            if own is None or row is None or standing is None:
                cells.append("–")
                continue
            any_row = True
            content = own[2] - standing[2]
            cells.append(f"{own[0] - row[0]:+.2f}, {own[1] - row[1]:+.2f}, {content - row[2]:+.2f}")
            widest.append((abs(own[1] - row[1]), abs(content - row[2]), name, t))
        compared += any_row
        lines.append(cells)
    print("# Polynomials against the NIST-JANAF tables\n")
    print("Made by `benches/thermochemistry_check.py`. Each cell: ΔCp in J/(mol K), ΔS in J/(mol K), Δ[H(T) − H(298.15 K)] in")
    print("kJ/mol, polynomials of data/thermo.tsv less NIST-JANAF (Chase 1998). A dash: one of the two has no value for that")
    print("phase there. Where the two rest on different primary papers the differences are those of the papers.\n")
    print(f"{compared} species compared.")
    entropies = sorted(x[0] for x in widest)
    contents = sorted(x[1] for x in widest)
    middle, ninth = len(widest) // 2, len(widest) * 9 // 10
    print(f"|ΔS|: median {entropies[middle]:.3f}, nine in ten below {entropies[ninth]:.2f} J/(mol K).")
    print(f"|ΔH|: median {contents[middle]:.3f}, nine in ten below {contents[ninth]:.2f} kJ/mol.\n")
    print("Widest heat contents: " + "; ".join(f"{n} at {t} K {h:.2f} kJ/mol" for _, h, n, t in sorted(widest, key=lambda x: -x[1])[:6]) + ".\n")
    print("| species | table | 500 K | 1000 K | 1500 K |\n|---|---|---|---|---|")
    for cells in lines:
        print("| " + " | ".join(cells) + " |")
    if missing:
        print("\nNot found in the other tables: " + ", ".join(missing) + ".")


if __name__ == "__main__":
    main()
