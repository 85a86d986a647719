#!/usr/bin/env python3
"""Writes the table of heat capacity polynomials of inorganic species.

Question it answers: what are Cp, H and S of a substance in each of its forms, over which temperatures?

Raw file: the species file of B. J. McBride, M. J. Zehe, S. Gordon, NASA Glenn Coefficients for Calculating
Thermodynamic Properties of Individual Species, NASA/TP-2002-211556 (a work of the US government). Everything after the
line END PRODUCTS is left out, and so are: ions; elements that a bench rarely meets; organic species beyond the small
molecules that ligands and fuels fall apart into; azides, hydrazines, nitro compounds and fluorides of the halogens and
of oxygen and nitrogen; gases with two different halogens, of carbon with a halogen beyond a few, boron and silicon
hydrides beyond the simplest, and halides that carry hydrogen; and FeCl3 as a gas, whose coefficients are corrupt in the
file. Intervals above 6000 K are cut.
Records of one name that follow each other (on both sides of a Curie point) are joined to one form.

Two things are put right: the interval of aluminium nitride up to its melting point, 2700 K, stands under the liquid in
the file and goes to the solid; and the two records of tin(II) sulfide, which a first-order transition at 875 K parts,
are two forms.

One row is one interval. `enthalpy` is the stated enthalpy of formation at 298.15 K of the form that is stable there,
in J/mol.

Usage: thermo_records.py path/to/nasa_glenn_thermo.inp > data/thermo.tsv
"""

import re
import sys

ELEMENTS = set("H He C N O F Na Mg Al Si P S Cl Ar K Ca Ti V Cr Mn Fe Co Ni Cu Zn Br Sr Mo Ag Cd Sn I Ba Hg Pb Bi B Li".split())

# Small molecules with carbon and hydrogen, or carbon and two of C, N, that are kept.
SMALL = set("""
C CH CH2 CH3 CH4 CO CO2 COS CS CS2 CN HCN HNC HNCO HCO HCHO HCOOH (HCOOH)2 CH3OH C2 C2H2 C2H4 C2H6 C3H8 C2H5OH CH3COOH
(CH3COOH)2 C3 COCl COCl2 CCl4 CF4 NCO C2N2 COF2 C6H6
SiH4 B2H6
""".split())

# Kept out by name: unstable or explosive, and no product of the bench.
LEFT_OUT = set("""
N3 N3H N2H2 N2H4 NH2NO2 N2F2 N2F4 NF NF2 NF3 NHF NHF2 NH2F NOF NOF3 NO2F NO3F ClF3 ClF5 IF5 IF7 BrF3 BrF5 FO FO2 F2O
F2O2 HOF FS2F ClO3F NCN CNN C3H3 C3OS C3S2 CNCOCN HCCN HCCO FCN FCO ClCN BrCN ICN HSO3F SF5Cl SF5Br SO2FCl P2O3 H5F5 H6F6 H7F7 H4F4
""".split())

# Names that the file spells with the formula fields of something else, or whose coefficients are corrupt.
CORRUPT = {("FeCl3", "g")}

FORMS = {
    "cr": "", "L": "", "gr": "graphite", "a": "α", "b": "β", "c": "γ", "d": "δ", "a'": "α′", "I'": "I′",
    "a-qz": "α-quartz", "b-qz": "β-quartz", "b-crt": "β-cristobalite", "II-r": "red", "I-y": "yellow",
    "an": "andalusite", "crI": "I", "crII": "II",
}
# Names of forms that the file leaves without one or with a letter.
NAMED = {
    ("CaCO3", ""): "calcite", ("TiO2", ""): "rutile", ("FeS2", ""): "pyrite", ("Fe2O3", ""): "hematite",
    ("Fe3O4", ""): "magnetite", ("MgCO3", ""): "magnesite", ("Al2O3", "α"): "corundum", ("MgAl2O4", ""): "spinel",
    ("Mg2SiO4", ""): "forsterite", ("PbS", ""): "galena", ("Cu2O", ""): "cuprite", ("CuO", ""): "tenorite",
    ("MgO", ""): "periclase", ("CaO", ""): "lime", ("S", "α"): "orthorhombic", ("S", "β"): "monoclinic",
    ("Sn", ""): "white", ("SnO2", ""): "cassiterite", ("Fe", "α"): "ferrite", ("Fe", "γ"): "austenite",
    ("Fe0.947O", ""): "wustite", ("P", ""): "white", ("BaSO4", "α"): "baryte", ("Mg(OH)2", ""): "brucite",
    ("Ca(OH)2", ""): "portlandite", ("CaSO4", "II"): "anhydrite", ("MgTiO3", ""): "geikielite",
}
HALOGENS = set("F Cl Br I".split())
HIGHEST = 6000.0


def spelled(name):
    """The formula of a record in ordinary letters, and what stands in its last bracket."""
    name = name.split(",")[0] if not re.search(r"\([^)]*,[^)]*\)$", name) else name
    name = name.replace("AL", "Al").replace("CL", "Cl")
    form = None
    found = re.search(r"\(([^()]*)\)$", name)
    if found and (found.group(1) in FORMS or re.fullmatch(r"[IV]+(,[IV]+)?'?", found.group(1))):
        form, name = found.group(1), name[: found.start()]
    return re.sub(r"(?<![0-9])\.", "0.", name), form


def composition(fields):
    """Elements and counts of the formula fields."""
    counts = {}
    for start in range(0, 40, 8):
        symbol, count = fields[start : start + 2].strip(), fields[start + 2 : start + 8].strip()
        if symbol and float(count or 0) != 0:
            counts[symbol.capitalize()] = float(count)
    return counts


def number(text):
    """A number in the file's notation."""
    return float(text.replace("D", "e").replace("d", "e").strip() or 0)


def records(lines):
    """Name, remark, code, elements, gas or not, enthalpy and intervals of each record."""
    at = next(i for i, line in enumerate(lines) if line.startswith("thermo")) + 2
    while not lines[at].startswith("END PRODUCTS"):
        head, second = lines[at], lines[at + 1]
        count = int(second[:2])
        code, elements = second[3:9].strip(), composition(second[10:50])
        is_gas, enthalpy = int(second[50:52]) == 0, number(second[65:80])
        at += 2
        intervals = []
        for _ in range(count):
            bounds, first, rest = lines[at : at + 3]
            exponents = [float(x) for x in bounds[23:63].split()]
            assert exponents[:7] == [-2, -1, 0, 1, 2, 3, 4], (head, exponents)
            a = [number(first[i : i + 16]) for i in range(0, 80, 16)] + [number(rest[i : i + 16]) for i in (0, 16)]
            b = [number(rest[i : i + 16]) for i in (48, 64)]
            intervals.append((float(bounds[:11]), float(bounds[11:22]), a, b))
            at += 3
        if count == 0:
            at += 1
        yield head[:18].strip(), head[18:].strip(), code, elements, is_gas, enthalpy, intervals


def wanted(formula, phase, elements):
    """Whether a record belongs to the table."""
    if "E" in elements or not set(elements) <= ELEMENTS or formula in LEFT_OUT or (formula, phase) in CORRUPT:
        return False
    halogens = HALOGENS & set(elements)
    if phase != "g" or formula in SMALL:
        return True
    if "C" in elements:
        return not halogens and elements["C"] == 1 and not {"H", "N", "P"} & set(elements)
    if {"B", "Si", "Al"} & set(elements) and "H" in elements and "O" not in elements:
        return False
    if halogens and len(elements) > 2 and ("H" in elements or len(halogens) > 1 or "B" in elements):
        return formula == "HOCl"
    return True


def plain(value):
    """The shortest text of a number."""
    return repr(value).removesuffix(".0")


def main():
    """Reads the file named on the command line and prints the table."""
    with open(sys.argv[1], encoding="latin-1") as raw:
        lines = raw.read().splitlines()
    print("# Coefficients of Cp, H and S; one row is one temperature interval (K). Made by data/import/thermo_records.py.")
    print("# enthalpy: of formation at 298.15 K as stated with the record, J/mol. primary: where the record's own source is.")
    print("formula\tphase\tform\tname\tlow_k\thigh_k\ta1\ta2\ta3\ta4\ta5\ta6\ta7\tb1\tb2\tenthalpy\tsource\tprimary")
    seen, kept = set(), 0
    for name, remark, code, elements, is_gas, enthalpy, intervals in records(lines):
        formula, letters = spelled(name)
        phase = "g" if is_gas else "l" if letters == "L" else "s"
        if name.endswith("+") or name.endswith("-") or not intervals or not wanted(formula, phase, elements):
            continue
        if name.endswith(",vinylidene"):
            continue
        form = "" if letters is None else FORMS.get(letters, letters.replace("'", "′"))
        if formula == "SnS" and phase == "s":
            form = "α" if intervals[0][0] < 800 else "β"
        key = (formula, phase, form)
        kept += key not in seen
        seen.add(key)
        primary = "; ".join(part for part in (code, re.sub(r"\s+", " ", remark).strip(" .")) if part)
        for low, high, a, b in intervals:
            if low >= HIGHEST:
                continue
            if formula == "AlN" and phase == "l" and high <= 2700:
                phase_of = "s"
            else:
                phase_of = phase
            cells = [formula, phase_of, form, NAMED.get((formula, form), "") if phase == "s" else "", plain(low), plain(min(high, HIGHEST))]
            cells += [plain(x) for x in a + b] + [plain(enthalpy), "nasa-2002", primary]
            print("\t".join(cells))
    print(f"{kept} forms", file=sys.stderr)


if __name__ == "__main__":
    main()
