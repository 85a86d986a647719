"""Does a general library find the same equilibria from the same records, and how much longer does it take?

Needs `cantera` (PyPI) and a built `cargo bench -p engine --bench equilibria_beside --no-run`; the path of that program is the
argument. Gases of data/thermo.tsv are given to the library with their own nine coefficients. Three things are compared:
200 random gas mixtures at temperature and pressure, 200 at enthalpy and pressure, and the sweep of all mixtures of carbon,
hydrogen and oxygen in whole hundredths over graphite at 923 K and 1 atm (hydrogen and oxygen present: 4950).
Writes benches/EQUILIBRIUM_BESIDE.md.

Source: D. G. Goodwin and others, Cantera, version of the run printed in the page.
"""

import collections
import pathlib
import random
import subprocess
import sys
import time

import cantera as ct

ROOT = pathlib.Path(__file__).resolve().parent.parent
SEED = 20260601
SETS = ["H O", "C H O", "C H N O", "N O S", "C H O S", "H Cl O", "Na Cl H O", "C H N O S Cl", "H N F O", "K C O H"]
PRESSURES = (1e3, 1e7)


def element_counts(text):
    """Atoms of a plain formula; None where it has brackets or a charge."""
    counts, place = collections.Counter(), 0
    while place < len(text):
        if not text[place].isupper():
            return None
        end = place + 1
        while end < len(text) and text[end].islower():
            end += 1
        element, place = text[place:end], end
        while end < len(text) and text[end].isdigit():
            end += 1
        counts[element] += int(text[place:end] or 1)
        place = end
    return counts


def read_records():
    records = {}
    for line in (ROOT / "data/thermo.tsv").read_text().splitlines():
        if line.startswith("#") or line.startswith("formula"):
            continue
        cells = line.split("\t")
        name = f"{cells[0]}({cells[1]},{cells[2]})" if cells[2] else f"{cells[0]}({cells[1]})"
        interval = [float(cell) for cell in cells[4:15]]
        entry = records.setdefault(name, {"formula": cells[0], "phase": cells[1], "parts": []})
        entry["parts"].append(interval)
    for entry in records.values():
        entry["atoms"] = element_counts(entry["formula"])
    return records


def species_of(records, name):
    entry = records[name]
    parts = entry["parts"]
    thermo = {
        "model": "NASA9",
        "temperature-ranges": [parts[0][0]] + [part[1] for part in parts],
        "data": [part[2:] for part in parts],
        "reference-pressure": 1e5,
    }
    text = {"name": name, "composition": dict(entry["atoms"]), "thermo": thermo}
    if entry["phase"] != "g":
        text["equation-of-state"] = {"model": "constant-volume", "density": "2.2 g/cm^3"}
    return ct.Species.from_dict(text)


def known(records, name, elements):
    """A gas of these elements that the other library can take: from 300 K to 4000 K."""
    entry = records[name]
    atoms, parts = entry["atoms"], entry["parts"]
    return bool(
        atoms
        and entry["phase"] == "g"
        and set(atoms) <= set(elements)
        and parts[0][0] <= 300
        and parts[-1][1] >= 4000
    )


def draw(records, gases, kind, rng):
    lots = rng.sample(gases, rng.randint(3, min(6, len(gases))))
    lots = [(name, 10 ** rng.uniform(-2, 0)) for name in lots]
    kelvin = 300 * (4000 / 300) ** rng.random()
    pascal = PRESSURES[0] * (PRESSURES[1] / PRESSURES[0]) ** rng.random()
    return {"lots": lots, "from": rng.uniform(300, 1500), "kind": kind, "kelvin": kelvin, "pascal": pascal}


def solve_here(program, problems):
    lines = []
    for p in problems:
        lots = ", ".join(f"{name} {amount!r}" for name, amount in p["lots"])
        lines.append(
            f"{p['elements']} ; {lots} ; {p['from']!r} ; {p['kind']} ; {p['kelvin']!r} ; {p['pascal']!r} ; {p.get('with', '')}"
        )
    text = subprocess.run([program], input="\n".join(lines) + "\n", capture_output=True, text=True, check=True).stdout
    answers = []
    for line in text.splitlines():
        status, kelvin, seconds, rest = (cell.strip() for cell in line.split(";", 3))
        pairs = (part.rsplit(" ", 1) for part in rest.strip().rstrip(",").split(", ") if part)
        amounts = {name.strip(): float(value) for name, value in pairs}
        answers.append({"status": status, "kelvin": float(kelvin), "seconds": float(seconds), "amounts": amounts})
    assert len(answers) == len(problems), (len(answers), len(problems))
    return answers


def solve_there(gas, problem):
    """The same with the other library, from the given amounts; its tolerance made as sharp as the comparison."""
    gas.TPX = problem["from"], problem["pascal"], dict(problem["lots"])
    if problem["kind"] == "tp":
        gas.TP = problem["kelvin"], problem["pascal"]
    begun = time.perf_counter()
    solvers = ("element_potential", "gibbs", "vcs")
    for solver in solvers:
        try:
            gas.equilibrate(problem["kind"].upper(), solver=solver, rtol=1e-12, max_steps=20000)
            return time.perf_counter() - begun, solver
        except ct.CanteraError:
            gas.TPX = problem["from"], problem["pascal"], dict(problem["lots"])
            if problem["kind"] == "tp":
                gas.TP = problem["kelvin"], problem["pascal"]
    return time.perf_counter() - begun, None


def gas_mixtures(program, records, kind, rng, beyond, count=200):
    problems, phases = [], {}
    for number in range(count):
        elements = SETS[number % len(SETS)].split(" ")
        names = [name for name in records if known(records, name, elements)]
        key = " ".join(elements)
        if key not in phases:
            phases[key] = ct.Solution(thermo="ideal-gas", species=[species_of(records, name) for name in names])
        problem = draw(records, names, kind, rng)
        problem["elements"], problem["set"] = " ".join(elements), key
        problems.append(problem)
    answers = solve_here(program, problems)
    outcome = []
    for problem, answer in zip(problems, answers):
        gas = phases[problem["set"]]
        seconds, solver = solve_there(gas, problem)
        total = sum(answer["amounts"].get(name, 0.0) for name in gas.species_names)
        if total == 0.0:
            beyond.append(problem)
            continue
        ours = {name: answer["amounts"].get(name, 0.0) / total for name in gas.species_names}
        other = sum(amount for name, amount in answer["amounts"].items() if name not in ours) / max(total, 1e-300)
        gap = max(abs(ours[name] - x) for name, x in zip(gas.species_names, gas.X)) if solver else None
        outcome.append(
            {
                "problem": problem,
                "status": answer["status"],
                "seconds": answer["seconds"],
                "there": seconds,
                "solver": solver,
                "gap": gap,
                "kelvin": (answer["kelvin"], gas.T),
                "other": other,
            }
        )
    return outcome


def sweep(program, records):
    names = [name for name in records if known(records, name, ["C", "H", "O"])]
    gas = ct.Solution(thermo="ideal-gas", species=[species_of(records, name) for name in names])
    solid = ct.Solution(thermo="fixed-stoichiometry", species=[species_of(records, "C(s,graphite)")])
    problems = []
    for hydrogen in range(1, 100):
        for oxygen in range(1, 101 - hydrogen):
            lots = [("C(s,graphite)", 100 - hydrogen - oxygen), ("H2(g)", hydrogen / 2), ("O2(g)", oxygen / 2)]
            problems.append(
                {
                    "elements": "C H O",
                    "lots": [lot for lot in lots if lot[1] > 0],
                    "from": 298.15,
                    "kind": "tp",
                    "kelvin": 923.0,
                    "pascal": 101325.0,
                    "with": "C(s,graphite)",
                }
            )
    answers = solve_here(program, problems)
    failed, seconds, gap = 0, 0.0, 0.0
    for problem, answer in zip(problems, answers):
        lots = dict(problem["lots"])
        gas.TPX = 923.0, 101325.0, {"H2(g)": lots["H2(g)"], "O2(g)": lots["O2(g)"]}
        solid.TP = 923.0, 101325.0
        mixture = ct.Mixture([(gas, lots["H2(g)"] + lots["O2(g)"]), (solid, lots.get("C(s,graphite)", 0.0))])
        mixture.T, mixture.P = 923.0, 101325.0
        begun = time.perf_counter()
        try:
            mixture.equilibrate("TP", solver="vcs", rtol=1e-10, max_steps=5000)
        except ct.CanteraError:
            failed += 1
            seconds += time.perf_counter() - begun
            continue
        seconds += time.perf_counter() - begun
        total = sum(v for k, v in answer["amounts"].items() if k.endswith("(g)"))
        moles = dict(zip(mixture.species_names, mixture.species_moles))
        there = sum(v for k, v in moles.items() if k.endswith("(g)"))
        difference = max(abs(answer["amounts"].get(k, 0.0) / total - v / there) for k, v in moles.items() if k.endswith("(g)"))
        gap = max(gap, difference)
    solved = sum(answer["status"] == "Solved" for answer in answers)
    return {
        "count": len(problems),
        "solved": solved,
        "failed": failed,
        "seconds": (sum(a["seconds"] for a in answers), seconds),
        "gap": gap,
    }


def table(name, outcome):
    both = [o for o in outcome if o["gap"] is not None and o["status"] == "Solved"]
    here, there = sum(o["seconds"] for o in outcome), sum(o["there"] for o in outcome)
    widest = max(o["gap"] for o in both)
    warmest = max(abs(o["kelvin"][0] - o["kelvin"][1]) for o in both)
    solvers = collections.Counter(o["solver"] or "none" for o in outcome)
    return (
        f"| {name} | {len(outcome)} | {sum(o['status'] == 'Solved' for o in outcome)} | {len(outcome) - solvers['none']} "
        f"| {widest:.1e} | {warmest:.1e} | {1e6 * here / len(outcome):.0f} | {1e6 * there / len(outcome):.0f} "
        f"| {there / here:.0f} |"
    ), solvers


def main():
    program, records = sys.argv[1], read_records()
    rng = random.Random(SEED)
    lines, words, beyond = [], [], []
    for name, kind in (("temperature and pressure", "tp"), ("enthalpy and pressure", "hp")):
        outcome = gas_mixtures(program, records, kind, rng, beyond)
        line, solvers = table(name, outcome)
        lines.append(line)
        words.append(f"{name}: " + ", ".join(f"{solver} {count}" for solver, count in sorted(solvers.items())))
        for o in outcome:
            if o["gap"] is None or o["gap"] > 1e-6 or o["status"] != "Solved":
                p = o["problem"]
                print(kind, p["set"], o["status"], o["solver"], o["gap"], o["kelvin"], p["lots"], p["kelvin"], p["pascal"])
    s = sweep(program, records)
    here, there = s["seconds"]
    page = f"""# Equilibria beside a general library

Written by `benches/equilibrium_beside.py`; both sides got the same records, in one run on one machine. The library is Cantera
{ct.__version__} (seed {SEED}); its solvers were tried in turn, each to a relative tolerance of 1e-12 (1e-10 over graphite). Times
are those of the solution alone, with the species made beforehand.

| gas mixtures held at | problems | solved here | solved there | widest difference of a mole fraction | of temperature, K | µs here | µs there | ratio |
|---|---|---|---|---|---|---|---|---|
{chr(10).join(lines)}

Solver of the library that succeeded: {"; ".join(words)}. {len(beyond)} mixtures of radicals would be hotter than 6000 K, where
the search here ends; they are left out.

All mixtures of carbon, hydrogen and oxygen in whole hundredths over graphite, 923 K and 1 atm, hydrogen and oxygen present:
{s["count"]} problems, {s["solved"]} solved and verified here, {s["count"] - s["failed"]} by the library's solver for several phases;
widest difference of a mole fraction {s["gap"]:.1e}; {1e6 * here / s["count"]:.0f} µs here, {1e6 * there / s["count"]:.0f} µs there, {there / here:.0f} times.
"""
    (ROOT / "benches/EQUILIBRIUM_BESIDE.md").write_text(page)
    print(page)


if __name__ == "__main__":
    main()
