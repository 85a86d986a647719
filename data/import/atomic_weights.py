#!/usr/bin/env python3
"""Writes the table of elements and standard atomic weights.

Question it answers: which atomic weight, with which published uncertainty and interval, has each element?

Raw file: `mass.py` of the public-domain Python package periodictable 2.1.0, whose table `element_mass` is the table
"Standard atomic weights of the elements 2021" (Prohaska et al., Pure Appl. Chem. 94 (2022) 573), abridged values and
intervals. Three elements carry the values announced by the commission in October 2024, whose uncertainties were read
from the published announcement. Elements without a standard atomic weight are listed with an empty weight.

Usage: atomic_weights.py path/to/mass.py > data/elements.tsv
"""

import re
import sys

# Standard atomic weights 2024: value and decisional uncertainty (CIAAW announcement of October 2024).
REVISED_2024 = {"Zr": ("91.222", "0.003"), "Gd": ("157.249", "0.002"), "Lu": ("174.96669", "0.00005")}

# Elements that have no standard atomic weight: IUPAC names and symbols.
WITHOUT_WEIGHT = """
43 Tc technetium|61 Pm promethium|84 Po polonium|85 At astatine|86 Rn radon|87 Fr francium|88 Ra radium
89 Ac actinium|93 Np neptunium|94 Pu plutonium|95 Am americium|96 Cm curium|97 Bk berkelium|98 Cf californium
99 Es einsteinium|100 Fm fermium|101 Md mendelevium|102 No nobelium|103 Lr lawrencium|104 Rf rutherfordium
105 Db dubnium|106 Sg seaborgium|107 Bh bohrium|108 Hs hassium|109 Mt meitnerium|110 Ds darmstadtium
111 Rg roentgenium|112 Cn copernicium|113 Nh nihonium|114 Fl flerovium|115 Mc moscovium|116 Lv livermorium
117 Ts tennessine|118 Og oganesson
"""

VALUE = re.compile(r"^(\d+(?:\.\d+)?)\((\d+(?:\.\d+)?)\)$")
INTERVAL = re.compile(r"\[([\d.]+),([\d.]+)\]")


def uncertainty_of(value, digits):
    """The number in brackets, in units of the last digit of the value, or written out when it holds a point."""
    if "." in digits:
        return digits
    decimals = len(value.partition(".")[2])
    return f"{int(digits) / 10**decimals:.{decimals}f}"


def weights(raw):
    """One row for each line of the raw table."""
    table = re.search(r'^element_mass = """\\\n(.*?)\\?\n"""', raw, re.S | re.M).group(1)
    for line in table.splitlines():
        number, symbol, name, published = line.rstrip("\\").split()[:4]
        value, digits = VALUE.match(published).groups()
        interval = INTERVAL.search(line)
        low, high = interval.groups() if interval else ("", "")
        row = [int(number), symbol, name, value, uncertainty_of(value, digits), low, high, "ciaaw-2021"]
        if symbol in REVISED_2024:
            row[3], row[4] = REVISED_2024[symbol]
            row[7] = "ciaaw-2024"
        yield row


def unweighed():
    """Rows of the elements without a standard atomic weight."""
    for entry in WITHOUT_WEIGHT.replace("\n", "|").split("|"):
        if entry.strip():
            number, symbol, name = entry.split()
            yield [int(number), symbol, name, "", "", "", "", "ciaaw-2021"]


def main():
    with open(sys.argv[1], encoding="iso-8859-15") as raw_file:
        raw = raw_file.read()
    rows = sorted(list(weights(raw)) + list(unweighed()))
    print("# Standard atomic weights, g/mol. Written by import/atomic_weights.py; do not edit.")
    print("# uncertainty: decisional uncertainty as published, of the abridged value where there is an interval.")
    print("atomic_number\tsymbol\tname\tatomic_weight\tuncertainty\tinterval_low\tinterval_high\tsource")
    for row in rows:
        print("\t".join(str(cell) for cell in row))


if __name__ == "__main__":
    main()
