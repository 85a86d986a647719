#!/usr/bin/env python3
"""Writes the table of isotopes that a formula may name, with their masses.

Question it answers: what does an atom of a given mass number weigh, and how well is that known?

Raw file: `mass.py` of the public-domain Python package periodictable 2.1.0, whose table `isotope_mass` holds the
rounded masses of the atomic mass evaluation AME2020 (Wang et al., Chinese Phys. C 45 (2021) 030003). A row is written
for every isotope that occurs in nature (those to which the raw table gives an abundance) and for the tracers and
long-lived nuclides of TRACERS. The uncertainty is the standard uncertainty as published, in units of the last digit.

Usage: isotopes.py path/to/mass.py > data/isotopes.tsv
"""

import re
import sys
from decimal import Decimal

# Radioactive isotopes in common use as tracers, sources or long-lived residues (common practice).
TRACERS = """
H-3 Be-7 Be-10 C-11 C-14 N-13 O-15 F-18 Na-22 Na-24 Mg-28 Al-26 Si-32 P-32 P-33 S-35 Cl-36 K-42 K-43 Ca-45 Ca-47 Sc-46
Ti-44 V-48 Cr-51 Mn-52 Mn-53 Mn-54 Fe-55 Fe-59 Fe-60 Co-56 Co-57 Co-58 Co-60 Ni-59 Ni-63 Cu-61 Cu-64 Cu-67 Zn-65 Ga-67
Ga-68 Ge-68 As-74 As-76 Se-75 Se-79 Br-77 Br-82 Kr-85 Rb-82 Rb-86 Sr-82 Sr-85 Sr-89 Sr-90 Y-86 Y-88 Y-90 Zr-89 Zr-95
Nb-95 Mo-99 Tc-97 Tc-98 Tc-99 Ru-103 Ru-106 Rh-105 Pd-103 Pd-107 Ag-110 Ag-111 Cd-109 In-111 Sn-113 Sn-126 Sb-124
Sb-125 I-123 I-124 I-125 I-129 I-131 Xe-133 Cs-131 Cs-134 Cs-135 Cs-137 Ba-133 Ba-140 La-140 Ce-141 Ce-144 Pr-143
Nd-147 Pm-145 Pm-147 Sm-151 Sm-153 Eu-152 Eu-154 Eu-155 Gd-153 Tb-161 Dy-165 Ho-166 Er-169 Tm-170 Yb-169 Lu-177 Hf-181
Ta-182 W-185 W-188 Re-186 Re-188 Os-191 Ir-192 Pt-195 Au-198 Hg-203 Tl-201 Tl-204 Pb-203 Pb-205 Pb-210 Pb-212 Bi-207
Bi-210 Bi-213 Po-208 Po-209 Po-210 At-210 At-211 Rn-220 Rn-222 Fr-223 Ra-223 Ra-224 Ra-226 Ra-228 Ac-225 Ac-227 Th-227
Th-228 Th-229 Th-230 Th-234 Pa-231 Pa-233 U-232 U-233 U-236 Np-237 Np-239 Pu-236 Pu-238 Pu-239 Pu-240 Pu-241 Pu-242
Pu-244 Am-241 Am-243 Cm-242 Cm-243 Cm-244 Cm-247 Cm-248 Bk-247 Bk-249 Cf-249 Cf-251 Cf-252 Es-252 Es-254 Fm-257
""".split()

LINE = re.compile(r"^(\d+)-(\w+)-(\d+),([\d.]+)\((\d+)\),([^,]*),")


def isotopes(raw):
    """One row for each wanted line of the raw table."""
    table = re.search(r'^isotope_mass = """\\\n(.*?)\n?"""', raw, re.S | re.M).group(1)
    wanted = set(TRACERS)
    for line in table.splitlines():
        found = LINE.match(line)
        if not found:
            continue
        number, symbol, mass_number, mass, digits, abundance = found.groups()
        name = f"{symbol}-{mass_number}"
        if not abundance.strip() and name not in wanted:
            continue
        wanted.discard(name)
        decimals = len(mass.partition(".")[2])
        uncertainty = f"{Decimal(int(digits)).scaleb(-decimals):f}"
        occurrence = "natural" if abundance.strip() else "radioactive"
        yield [int(number), symbol, int(mass_number), mass, uncertainty, occurrence, "ame2020"]
    if wanted:
        sys.exit(f"not in the raw table: {sorted(wanted)}")


def main():
    with open(sys.argv[1], encoding="iso-8859-15") as raw_file:
        rows = list(isotopes(raw_file.read()))
    print("# Isotopes and the mass of the neutral atom, g/mol. Written by import/isotopes.py; do not edit.")
    print("# uncertainty: standard uncertainty as published. natural: occurs in nature in more than traces.")
    print("atomic_number\tsymbol\tmass_number\tmass\tuncertainty\toccurrence\tsource")
    for row in rows:
        print("\t".join(str(cell) for cell in row))


if __name__ == "__main__":
    main()
