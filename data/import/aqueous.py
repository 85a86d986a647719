#!/usr/bin/env python3
"""Writes the tables of dissolved species, solids and interaction parameters.

Question it answers: which species and solids may stand in a solution of the bench's elements, with which constants?

Raw files: a folder with the aqueous tables of the U.S. Geological Survey and the U.S. Environmental Protection Agency
(`ball_nordstrom_1991.dat`, `general.dat`, `epa_aqueous.dat`, `pitzer.dat`) and their notice. Two sets of constants are
written and never mixed: `association` (the EPA table, for Davies' and the extended Debye-Hueckel equation) and `pitzer`.
Constants of the other two tables for the same reaction go into the column `others`, so that disagreement is visible.

What is changed: only species whose parts are all in MASTERS are kept; reactions with electrons are left out; names are
rewritten with charges as ^2+; enthalpies are in kJ/mol; solids are sorted into fresh, aged, slow, salt (SORTED below,
common practice). Unbalanced rows are named and left out.

Usage: aqueous.py path/to/folder path/to/data
"""

import re
import sys
from fractions import Fraction
from pathlib import Path

# Organic ligands stand under names in the raw files.
LIGANDS = {
    "Acetate": ("CH3COO", -1), "Citrate": ("C6H5O7", -3), "Tartarate": ("C4H4O6", -2), "Formate": ("HCOO", -1),
    "Phthalate": ("C8H4O4", -2), "Edta": ("C10H12N2O8", -4),
}
MASTERS = """H+ Na+ K+ Li+ NH4+ Mg+2 Ca+2 Sr+2 Ba+2 Mn+2 Fe+2 Fe+3 Co+2 Ni+2 Cu+2 Cu+ Zn+2 Ag+ Al+3 Pb+2
Cl- Br- I- F- NO3- NO2- SO4-2 HS- CO3-2 PO4-3 H3BO3 B(OH)3 Acetate- Citrate-3 Tartarate-2 Formate- Phthalate-2
Edta-4""".split()
# Solids by their name in the raw table; what is not named is left out or, with a list of salts, sorted by the default.
FRESH = """Al(OH)3(am) Zn(OH)2(am) Cu(OH)2 Ni(OH)2 Co(OH)2 Fe(OH)2 Ferrihydrite Pyrochroite Mg(OH)2(active) Portlandite
Pb(OH)2 Ag2O Malachite ZnCO3:1H2O CoCO3 NiCO3 Siderite Rhodochrosite Nesquehonite Calcite Strontianite Witherite
Cerussite Ag2CO3 Langite CaHPO4:2H2O Zn3(PO4)2:4H2O Cu3(PO4)2:3H2O Ag3PO4 Ni3(PO4)2 Co3(PO4)2 Vivianite Strengite
Mn3(PO4)2 MnHPO4 MgHPO4:3H2O PbHPO4 SrHPO4 BaHPO4 Ca4H(PO4)3:3H2O Zn2(OH)2SO4 Zn2(OH)3Cl Laurionite FeS(ppt) ZnS(am)
Cu3(PO4)2 Mg3(PO4)2 Struvite""".split()
AGED = """Gibbsite Zn(OH)2(epsilon) Zincite Tenorite Lepidocrocite Brucite Smithsonite Azurite Hydrocerussite
Hydromagnesite Brochantite Antlerite CaHPO4 Hydroxylapatite Atacamite Zn5(OH)8Cl2 Zn4(OH)6SO4 Ni4(OH)6SO4 Goethite
Boehmite Magnesite Litharge Hydroxylpyromorphite Al4(OH)10SO4 Covellite CoHPO4 Ca3(PO4)2(beta) Cuprite""".split()
SALTS = """Gypsum Anhydrite Celestite Barite Anglesite Ag2SO4 Cotunnite Cerargyrite Bromyrite Iodyrite Nantokite CuBr CuI
PbBr2 PbI2 Fluorite MgF2 SrF2 BaF2 PbF2 Mirabilite Thenardite Epsomite Melanterite Goslarite Bianchite Retgersite
CoSO4:6H2O Chalcanthite Halite MnCl2:4H2O K-Alum Natron Thermonatrite Ba(OH)2:8H2O Arcanite Sylvite Bischofite
Bloedite Glaserite Glauberite Syngenite Hexahydrite Kieserite Nahcolite Kalicinite Trona Schoenite Leonite Carnallite
Kainite Burkeite Borax Boric_acid,s KB5O8:4H2O Gaylussite Pirssonite Picromerite""".split()
PITZER_FRESH = "Calcite Brucite Portlandite Nesquehonite".split()
PITZER_AGED = "Magnesite Aragonite".split()
SLOW = "Dolomite(ordered) Dolomite Huntite Hematite Aragonite".split()
GASES = "CO2(g) NH3(g) H2S(g) CH3COOH(g)".split()
# Titles of one solid that differ between the tables.
ALIASES = {"Ferrihydrite": "Fe(OH)3(a)", "Zn(OH)2(am)": "Zn(OH)2(a)", "Al(OH)3(am)": "Al(OH)3(a)", "FeS(ppt)": "FeS(ppt)",
           "Zn(OH)2(epsilon)": "Zn(OH)2(e)"}
NAMES = {"Cerargyrite": "silver chloride", "Bromyrite": "silver bromide", "Iodyrite": "silver iodide"}
SOURCES = {"epa_aqueous": "epa-600-3-91-021", "ball_nordstrom_1991": "usgs-ofr-91-183", "general": "usgs-tm-6-a43",
           "pitzer": "harvie-1984"}


def spelled(name):
    """A species in our spelling: Cu(NH3)2+2 is Cu(NH3)2^2+."""
    found = re.match(r"^(.*?)([+-]\d*)?$", name)
    body, charge = found.group(1), found.group(2)
    for ligand, (formula, _) in LIGANDS.items():
        body = body.replace(f"({ligand})", f"({formula})")
        lone = body == ligand
        body = body.replace(ligand, formula if lone else f"({formula})")
    body = body.replace(":", "·")
    if not charge:
        return body
    number = charge[1:]
    return f"{body}^{number if number not in ('', '1') else ''}{charge[0]}"


def charge_of(name):
    found = re.search(r"\^(\d*)([+-])$", name)
    return 0 if not found else int(found.group(1) or 1) * (1 if found.group(2) == "+" else -1)


def elements(name):
    """Counts of the elements in our spelling, exact."""
    body = re.sub(r"\^\d*[+-]$", "", name)
    total = {}
    for part in body.split("·"):
        number = re.match(r"^(\d*\.?\d*)(.*)$", part)
        times, rest = Fraction(number.group(1) or 1), number.group(2)
        stack = [{}]
        for token in re.finditer(r"([A-Z][a-z]?)(\d*\.?\d*)|(\()|(\))(\d*\.?\d*)", rest):
            symbol, count, opened, closed, group = token.groups()
            if symbol:
                stack[-1][symbol] = stack[-1].get(symbol, 0) + Fraction(count or 1)
            elif opened:
                stack.append({})
            else:
                inner = stack.pop()
                for key, value in inner.items():
                    stack[-1][key] = stack[-1].get(key, 0) + value * Fraction(group or 1)
        for key, value in stack[0].items():
            total[key] = total.get(key, 0) + value * times
    return total


def side(text):
    """The terms of one side, raw names with coefficients."""
    terms = []
    # The first term may carry a minus; a sign stands between blanks.
    text = " " + text.strip()
    for sign, coefficient, name in re.findall(r"(?:(?<=\s)([+-])\s+|\s)(\d+\.?\d*(?=[\s(A-Za-z])|)\s*([A-Za-z(][^\s]*)", text):
        terms.append((name, Fraction(coefficient or 1) * (-1 if sign == "-" else 1)))
    return terms


def blocks(raw):
    """Entries of the raw file: block, title, equation, options."""
    block, title, entry, found = None, None, None, []
    for line in raw.split("\n"):
        line = line.split("#")[0].rstrip()
        if not line.strip():
            continue
        if re.match(r"^[A-Z_]{3,}$", line.strip()) and line.strip() not in ("END",):
            block, entry = line.strip(), None
            continue
        if block not in ("SOLUTION_SPECIES", "PHASES"):
            continue
        option = re.match(r"^\s*-?(log_k|delta_h|analytic\w*|gamma|analytical_expression)\s+(.*)$", line, re.I)
        if "=" in line and not option:
            entry = {"block": block, "title": title, "equation": line.strip(), "options": {}}
            found.append(entry)
        elif option and entry is not None:
            for piece in line.split(";"):
                part = re.match(r"^\s*-?([A-Za-z_]+)\s+(.*)$", piece)
                if part:
                    key = part.group(1).lower().lstrip("-")
                    key = "analytic" if key.startswith("analytic") else key
                    entry["options"].setdefault(key, part.group(2).split())
        elif block == "PHASES" and re.match(r"^\S+\s*\d*$", line) and not line.strip().startswith("-"):
            title = line.split()[0]
    return found


def numbers(words):
    out = []
    for word in words:
        try:
            out.append(float(word))
        except ValueError:
            break
    return out


def constants(options):
    """log K, enthalpy in kJ/mol or None, analytic coefficients or None."""
    analytic = numbers(options.get("analytic", [])) or None
    log_k = numbers(options.get("log_k", []))
    log_k = log_k[0] if log_k else None
    enthalpy = None
    if "delta_h" in options:
        words = options["delta_h"]
        unit = words[1].lower() if len(words) > 1 else "kj"
        enthalpy = float(words[0]) * (4.184 if unit.startswith("kcal") else 1.0)
        if enthalpy == 0.0 and words[0].lstrip("-") in ("0",):
            enthalpy = None
    if log_k is None and analytic:
        log_k = at_25(analytic)
    return log_k, enthalpy, analytic


def at_25(a):
    from math import log10
    t, a = 298.15, a + [0.0] * (6 - len(a))
    return a[0] + a[1] * t + a[2] / t + a[3] * log10(t) + a[4] / t**2 + a[5] * t**2


def number(value, digits=6):
    return "" if value is None else f"{round(value, digits):g}" if abs(value) < 1e5 else repr(value)


def sum_text(terms):
    """Signed sum in our syntax."""
    text = ""
    for name, coefficient in terms:
        sign = "-" if coefficient < 0 else "+"
        size = abs(coefficient)
        size = "" if size == 1 else f"{float(size):g} "
        text += f" {sign} {size}{name}"
    return text.strip().lstrip("+").strip()


def merged(terms):
    total = {}
    for name, coefficient in terms:
        total[name] = total.get(name, Fraction(0)) + coefficient
    return [(name, c) for name, c in total.items() if c != 0]


def balanced(name, terms):
    left, charge = elements(name), charge_of(name)
    for other, coefficient in terms:
        charge -= coefficient * charge_of(other)
        for element, count in elements(other).items():
            left[element] = left.get(element, Fraction(0)) - coefficient * count
    return charge == 0 and all(count == 0 for count in left.values())


def entries(raw, masters):
    """Species and solids of a raw file, written in masters."""
    species, solids = {}, {}
    definitions = {}
    for entry in blocks(raw):
        left, right = entry["equation"].split("=", 1)
        left, right = side(left), side(right)
        names = {name for name, _ in left + right}
        if "e-" in names:
            continue
        log_k, enthalpy, analytic = constants(entry["options"])
        gamma = numbers(entry["options"].get("gamma", []))
        if entry["block"] == "SOLUTION_SPECIES":
            if len(left) == 1 and left == right:
                continue
            known = lambda name: name in masters or name == "H2O"
            # The species formed is the one that is no master; it stands on the right with coefficient 1.
            formed = [name for name, c in right if not known(name) and c == 1]
            if len(formed) != 1 or not all(known(name) for name, _ in left):
                continue
            made = formed[0]
            terms = left + [(name, -c) for name, c in right if name != made]
            if not all(known(name) for name, _ in terms) or log_k is None:
                continue
            name = spelled(made)
            terms = merged([(spelled(n), c) for n, c in terms])
            if not balanced(name, terms):
                print(f"left out, not balanced: {entry['equation']}", file=sys.stderr)
                continue
            species[name] = (terms, log_k, enthalpy, analytic, gamma)
            definitions[made] = (terms, log_k, enthalpy, analytic)
        else:
            solid = left[0]
            terms = right + [(name, -c) for name, c in left[1:]]
            flat, shift, heat, curve = [], 0.0, 0.0, [0.0] * 6
            usable = solid[1] == 1
            for name, c in terms:
                if name in masters or name == "H2O":
                    flat.append((spelled(name), c))
                elif name in definitions:
                    inner, k, h, a = definitions[name]
                    flat += [(n, c * m) for n, m in inner]
                    shift -= float(c) * k
                    heat -= float(c) * (h or 0.0)
                    curve = None if not a or curve is None else [x - float(c) * y for x, y in zip(curve, a + [0.0] * 6)]
                else:
                    usable = False
            if not usable or log_k is None:
                continue
            inner = [n for n, _ in terms if n in definitions]
            if inner:
                # Where a curve is missing on either side, the enthalpy stands in.
                analytic = [x + y for x, y in zip(analytic + [0.0] * 6, curve)] if analytic and curve else None
            name = spelled(solid[0])
            title = entry["title"]
            if title in GASES:
                name = title[:-3]
            terms = merged(flat)
            if not balanced(name, terms):
                print(f"left out, not balanced: {title}: {entry['equation']}", file=sys.stderr)
                continue
            total = None if enthalpy is None and not inner else (enthalpy or 0.0) + heat
            solids[title] = (name, terms, log_k + shift, total, analytic)
    return species, solids


def form_of(title, model):
    if title in GASES:
        return "gas"
    fresh, aged = (PITZER_FRESH, PITZER_AGED) if model == "pitzer" else (FRESH, AGED)
    for titles, form in ((fresh, "fresh"), (aged, "aged"), (SALTS, "salt"), (SLOW, "slow")):
        if title in titles:
            return form
    return None


def label(title, name):
    """The name of a form: a mineral's in lower case, or what stands in brackets behind a formula."""
    if title in NAMES:
        return NAMES[title]
    inner = re.search(r"\((am|active|alpha|beta|gamma|epsilon|ppt|ordered)\)$", title)
    if inner:
        return {"am": "amorphous", "ppt": "as precipitated"}.get(inner.group(1), inner.group(1))
    plain = re.match(r"^[A-Z][a-z]{3,}$|^[A-Z]-[A-Z][a-z]+$", title)
    return title.lower().replace("k-alum", "potassium alum") if plain else ""


def others_text(key_values):
    return "; ".join(f"{key} {value:g}" for key, value in key_values)


def analytic_text(analytic):
    return " ".join(repr(x) for x in analytic[:6]) if analytic else ""


HEAD = "# Written by import/aqueous.py; do not edit. Terms of use and what was changed: NOTICE-aqueous.txt."


def write_species(folder, tables):
    lines = [
        "# Dissolved species: what each is made of, and the constant of that formation.", HEAD,
        "# model: the set of constants it belongs to; the two are never mixed. formation: signed sum of masters and water.",
        "# enthalpy: kJ/mol. analytic: A1 .. A6 of log K = A1 + A2 T + A3/T + A4 lg T + A5/T^2 + A6 T^2.",
        "# size: ion-size parameter, angstrom; slope: term linear in the ionic strength; empty for Davies.",
        "# others: log K of the same formation elsewhere.",
        "model\tspecies\tformation\tlog_k\tenthalpy\tanalytic\tsize\tslope\tothers\tsource",
    ]
    for model, file, masters in (("association", "epa_aqueous", set(MASTERS)), ("pitzer", "pitzer", set(MASTERS))):
        species, _ = tables[file]
        source = SOURCES[file]
        used = {name for terms, *_ in species.values() for name, _ in terms}
        for raw_name in MASTERS:
            name = spelled(raw_name)
            if model == "pitzer" and raw_name not in PITZER_MASTERS or model == "association" and raw_name == "B(OH)3":
                continue
            lines.append("\t".join([model, name, name, "0", "", "", *sizes(raw_name, model), "", source]))
        for name, (terms, log_k, enthalpy, analytic, gamma) in sorted(species.items()):
            # Constants of dissolved species are those of infinite dilution in every table.
            compared = ("epa_aqueous",) if model == "pitzer" else ("ball_nordstrom_1991", "general")
            elsewhere = [
                (SOURCES[other], tables[other][0][name][1])
                for other in compared
                if name in tables[other][0] and dict(tables[other][0][name][0]) == dict(terms)
            ]
            size = [number(gamma[0]), number(gamma[1])] if model != "pitzer" and len(gamma) == 2 and gamma[0] > 0 else ["", ""]
            lines.append("\t".join([model, name, sum_text(terms), number(log_k), number(enthalpy), analytic_text(analytic),
                                    *size, others_text(elsewhere), source]))
    (folder / "aqueous_species.tsv").write_text("\n".join(lines) + "\n")


PITZER_MASTERS = "H+ Na+ K+ Li+ Mg+2 Ca+2 Sr+2 Ba+2 Mn+2 Fe+2 Cl- Br- SO4-2 CO3-2 B(OH)3".split()
GAMMAS = {}


def sizes(raw_name, model):
    gamma = GAMMAS.get(raw_name, [])
    return [number(gamma[0]), number(gamma[1])] if model != "pitzer" and len(gamma) == 2 and gamma[0] > 0 else ["", ""]


def write_solids(folder, tables):
    lines = [
        "# Solids and gases: what they dissolve to, and the constant of that.", HEAD,
        "# form: fresh (falls out within hours), aged (what that turns into), slow (not at the bench in weeks), salt, gas.",
        "# Which form is which is common practice. Other columns as in aqueous_species.tsv.",
        "model\tsolid\tname\tform\tdissolution\tlog_k\tenthalpy\tanalytic\tothers\tsource",
    ]
    for model, file in (("association", "epa_aqueous"), ("pitzer", "pitzer")):
        for title, (name, terms, log_k, enthalpy, analytic) in sorted(tables[file][1].items()):
            form = form_of(title, model)
            if form is None or not all(n == "H2O" or n in {spelled(m) for m in MASTERS} for n, _ in terms):
                continue
            elsewhere = [] if model == "pitzer" else [
                (SOURCES[other], tables[other][1][known][2])
                for other in ("ball_nordstrom_1991", "general")
                for known in dict.fromkeys([title, ALIASES.get(title, title)])
                if known in tables[other][1] and dict(tables[other][1][known][1]) == dict(terms)
            ]
            lines.append("\t".join([model, name, label(title, name), form, sum_text(terms), number(log_k), number(enthalpy),
                                    analytic_text(analytic), others_text(elsewhere), SOURCES[file]]))
    (folder / "aqueous_solids.tsv").write_text("\n".join(lines) + "\n")


# Left out: fitted together with calcite at high temperature, these give 9.92 for the carbonate buffer certified 10.012;
# the values of Harvie, Moller and Weare stand in pitzer_added.tsv.
REPLACED = {("HCO3-", "Na+")}


def write_pitzer(folder, raw):
    lines = [
        "# Interaction parameters of ions for Pitzer's equations.", HEAD,
        "# value at 25 degrees C, and P(T) = value + b (1/T - 1/Tr) + c ln(T/Tr) + d (T - Tr) + e (T^2 - Tr^2) + f (1/T^2 - 1/Tr^2).",
        "parameter\tfirst\tsecond\tthird\tvalue\tb\tc\td\te\tf\tsource",
    ]
    block = raw.split("\nPITZER\n")[1].split("GAS_BINARY_PARAMETERS")[0]
    kind = None
    allowed = {spelled(n) for n in PITZER_MASTERS} | set(entries(raw, set(MASTERS))[0])
    for line in block.split("\n"):
        revised = "ref. 3" in line
        line = line.split("#")[0].strip()
        if not line:
            continue
        if line.startswith("-") and " " not in line:
            kind = line[1:].lower()
            kind = {"b0": "beta0", "b1": "beta1", "b2": "beta2", "c0": "c_phi"}.get(kind, kind)
            continue
        words = line.split()
        count = 3 if kind in ("psi", "zeta") else 2
        if tuple(words[:count]) in REPLACED:
            continue
        ions = [spelled(word) for word in words[:count]]
        if not all(ion in allowed for ion in ions):
            continue
        values = words[count:] + ["0"] * 6
        ions += [""] * (3 - count)
        source = "appelo-2015" if revised else "harvie-1984"
        lines.append("\t".join([kind, *ions, *(number(float(v), 12) for v in values[:6]), source]))
    (folder / "pitzer.tsv").write_text("\n".join(lines) + "\n")


def main():
    raw_folder, folder = Path(sys.argv[1]), Path(sys.argv[2])
    raws = {name: (raw_folder / f"{name}.dat").read_text(encoding="iso-8859-1") for name in SOURCES}
    for entry in blocks(raws["epa_aqueous"]):
        left, right = (side(text) for text in entry["equation"].split("=", 1))
        if left == right and "gamma" in entry["options"]:
            GAMMAS[left[0][0]] = numbers(entry["options"]["gamma"])
    tables = {name: entries(raw, set(MASTERS)) for name, raw in raws.items()}
    write_species(folder, tables)
    write_solids(folder, tables)
    write_pitzer(folder, raws["pitzer"])


if __name__ == "__main__":
    main()
