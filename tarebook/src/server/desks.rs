//! Which single questions can be asked, and how is each answered?
//!
//! A desk has its question as title, its fields, and a function from what was typed to a document. A new question is a
//! new row; its page, its errors and its place in the index follow. What is seldom needed is kept behind “more”. The
//! fields are those of the commands of the same names.

use super::trouble::Fields;
use prep::ask::{
    self, CrystalliseOptions, DryOptions, EquilibriumOptions, FurnaceOptions, GasOptions, HeatOptions, IgniteOptions,
    ReactionOptions, SolutionOptions, WashOptions,
};
use prep::outcome::Finding;
use report::document::{self, Document};
use report::figure::{self, Named};

/// The answer with its figures, or what cannot be read.
pub(super) type Answer = Result<(Document, Named), Vec<Finding>>;

/// What is typed into a field.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Typed {
    /// One line.
    Line,
    /// Several lines.
    Lines,
    /// Yes or no.
    Tick,
}

/// A field of a desk.
pub(super) struct Field {
    pub key: &'static str,
    pub label: &'static str,
    pub example: &'static str,
    pub typed: Typed,
    /// Seldom needed.
    pub more: bool,
}

const fn line(key: &'static str, label: &'static str, example: &'static str) -> Field {
    Field { key, label, example, typed: Typed::Line, more: false }
}

const fn lines(key: &'static str, label: &'static str, example: &'static str) -> Field {
    Field { key, label, example, typed: Typed::Lines, more: false }
}

const fn tick(key: &'static str, label: &'static str) -> Field {
    Field { key, label, example: "", typed: Typed::Tick, more: true }
}

const fn more(field: Field) -> Field {
    Field { more: true, ..field }
}

/// A question with its place.
pub(super) struct Desk {
    pub key: &'static str,
    pub question: &'static str,
    pub about: &'static str,
    pub fields: &'static [Field],
    pub answer: fn(&Fields) -> Answer,
}

pub(super) const DESKS: [Desk; 15] = [
    Desk {
        key: "label",
        question: "What does this label mean?",
        about: "Salt, hydrate or element: which reckoning explains the figures on the label.",
        fields: &[line("label", "the label, as printed", "zinc sulfate 220 mg = zinc 50 mg")],
        answer: |f| {
            let answer = ask::label(first(f, "label"));
            let refused = super::trouble::refusals(&answer.findings).next().is_some();
            if refused { Err(answer.findings) } else { Ok(plain(document::label_document(&answer))) }
        },
    },
    Desk {
        key: "formula",
        question: "What is in this formula?",
        about: "Molar mass, composition, water, oxidation states.",
        fields: &[line("formula", "the formula", "CuSO4·5H2O")],
        answer: |f| ask::formula(first(f, "formula")).map(|a| plain(document::formula_document(&a))),
    },
    Desk {
        key: "reaction",
        question: "What does this reaction give?",
        about: "Coefficients; heat, entropy and equilibrium constant where the species are known.",
        fields: &[
            line("reaction", "the reaction", "CaCO3(s) -> CaO(s) + CO2(g)"),
            line("at", "at", "25 °C"),
            more(lines("gas", "gases not at 1 bar, one a line", "CO2 0.0004 bar")),
            more(lines("form", "which form of a solid, one a line", "CaCO3(s) = calcite")),
            more(line("from", "table from", "25 °C")),
            more(line("to", "table to", "900 °C")),
            more(lines("beside", "held against reactions of the same gas, one a line", "MgCO3(s) -> MgO(s) + CO2(g)")),
            tick("pairs", "held against metals, carbon and hydrogen"),
        ],
        answer: reaction,
    },
    Desk {
        key: "substance",
        question: "What is known of this substance?",
        about: "Names, properties with their sources, hazard statements.",
        fields: &[line("substance", "formula or name", "CuSO4·5H2O")],
        answer: |f| ask::substance(first(f, "substance")).map(|a| plain(document::substance_document(&a))),
    },
    Desk {
        key: "equilibrium",
        question: "What is there when nothing more can happen?",
        about: "Solids, melts and gas at a temperature and pressure, by the least Gibbs energy.",
        fields: &[
            lines("lots", "what is brought together, one a line", "CaCO3(s) 1 mol\nair 2 L"),
            line("at", "at", "900 °C"),
            line("pressure", "pressure", "1 atm"),
            line("sweep", "drawn over", "25 .. 1200 °C"),
            more(line("volume", "or in a closed volume", "50 mL")),
            tick("adiabatic", "no heat in or out"),
            more(line("from", "begins at", "25 °C")),
            more(lines("only", "only these species, one a line", "CaO(s)")),
            more(lines("without", "without these, one a line", "CO(g)")),
        ],
        answer: equilibrium,
    },
    Desk {
        key: "ignite",
        question: "What does this solid become?",
        about: "What a solid turns into as it is heated, with the mass that is left at each stage.",
        fields: &[
            lines("lots", "the solid, with its mass; one a line", "CaC2O4·H2O(s) 10 g"),
            line("in", "heated in", "air"),
            line("at", "and the residue at", "600 °C"),
            more(line("found", "left there, if weighed", "6.85 g")),
            more(line("from", "levels from", "25 °C")),
            more(line("to", "levels to", "1100 °C")),
        ],
        answer: ignite,
    },
    Desk {
        key: "furnace",
        question: "When is the middle of the bed done?",
        about: "How long a layer or a crucible full takes in the furnace until its middle has reacted.",
        fields: &[
            line("solid", "the solid", "CaCO3(s)"),
            line("at", "furnace at", "950 °C"),
            line("depth", "depth of a layer heated from above", "2 cm"),
            more(tick("both", "heated from both sides")),
            more(line("diameter", "or width of a crucible", "4 cm")),
            more(line("time", "what is it after", "2 h")),
            more(line("density", "bulk density", "1.0 g/mL")),
            more(line("conductivity", "conductivity, W/(m K)", "0.2")),
            more(line("frequency", "frequency factor, 1/s", "1e8")),
            more(line("energy", "activation energy", "180 kJ/mol")),
            more(line("law", "law of the rate", "first order")),
            more(line("in", "in", "air")),
        ],
        answer: furnace,
    },
    Desk {
        key: "heat",
        question: "How hot does it get?",
        about: "The rise of a batch, from the heat of its reaction, these amounts and the liquid it goes into.",
        fields: &[
            line("reaction", "the reaction", "CaO(s) + H2O(l) -> Ca(OH)2(s)"),
            lines("take", "what is taken, one a line", "28 g CaO"),
            line("into", "liquid it goes into", "300 g"),
            line("cooling", "cooling", "50 W"),
            more(line("capacity", "heat capacity of the liquid", "4.18 J/(g K)")),
            more(line("from", "begins at", "20 °C")),
            more(line("boils", "boils at", "100 °C")),
        ],
        answer: heat,
    },
    Desk {
        key: "gas",
        question: "How much gas comes off?",
        about: "Litres and rate of each gas, what it comes to in the room, why the vessel stays open.",
        fields: &[
            line("reaction", "the reaction", "CaCO3(s) + 2 HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)"),
            lines("take", "what is taken, one a line", "10 g CaCO3"),
            line("over", "comes over", "10 min"),
            line("room", "room", "30 m3"),
            more(line("at", "temperature of the gas", "25 °C")),
            more(line("air_changes", "air changes in an hour", "4")),
            more(line("free", "free space, if somebody closed it", "200 mL")),
            more(line("liquid", "liquid in that vessel", "300 mL")),
            more(line("tube", "tube swept with inert gas", "500 mL")),
            more(line("flow", "its flow", "0.2 L/min")),
            more(line("swept", "swept for", "20 min")),
            more(line("oxygen", "oxygen that may be left", "0.1 %")),
        ],
        answer: |f| gas(f.get("reaction"), f),
    },
    Desk {
        key: "room",
        question: "What does this gas come to in the room?",
        about: "A gas set free in a room, against the limits for breathing it, and how long to air.",
        fields: &[
            lines("take", "the gas, by mass; one a line", "10 g CO2(g)"),
            line("room", "room", "30 m3"),
            line("over", "comes over", "10 min"),
            line("air_changes", "air changes in an hour", "2"),
            more(line("at", "temperature of the gas", "25 °C")),
        ],
        answer: |f| gas(None, f),
    },
    Desk {
        key: "solution",
        question: "What is in this solution?",
        about: "Species, pH and solids; the dose to a pH.",
        fields: &[
            lines("substances", "substances, one a line", "CuSO4 0.4 mol/kg\nH2SO4 0.05 mol/kg"),
            line("at", "at", "25 °C"),
            line("add", "dose of", "NaOH"),
            line("to_ph", "to pH", "3.5"),
            more(line("water", "water", "1 kg")),
            more(line("ph", "pH, if measured", "2.2")),
            more(line("ph_uncertainty", "± of that pH", "0.05")),
            more(line("balance", "ion that balances it", "Na")),
            more(lines("gases", "gases above it, one a line", "CO2 0.0004 bar")),
            more(line("solids", "solids: allow or none", "allow")),
            more(line("dilute", "one substance, diluted to", "1 L 0.1 mol/L")),
            more(line("excess", "best excess of", "Na2C2O4")),
            more(line("excess_of", "… that takes out", "Cu")),
            more(line("recorded", "a recorded curve of the dose", "0 g 1.4; 1 g 1.6; 2 g 1.9")),
            more(line("free", "free acid in it", "H2SO4")),
            more(line("redox", "elements over pH and potential, with commas", "Cu")),
            more(line("couples", "their couples: held or equilibrated", "equilibrated")),
            more(line("potential", "potential against hydrogen", "0.5 V")),
            tick("windows", "where each metal falls out"),
        ],
        answer: solution,
    },
    Desk {
        key: "crystallise",
        question: "How much crystallises?",
        about: "From one temperature to another, with the water that the crystals take.",
        fields: &[
            line("substance", "what crystallises", "CuSO4·5H2O"),
            line("from", "from", "80 °C"),
            line("to", "to", "20 °C"),
            line("salt", "salt taken", "100 g"),
            line("water", "water taken", "120 g"),
            line("evaporate", "water evaporated", "20 g"),
            more(line("second", "second crop, share of the liquor's water evaporated", "50 %")),
            more(line("held", "liquor held by the crystals", "8 %")),
            more(line("impurity", "what stays dissolved", "FeSO4 1 g")),
        ],
        answer: crystallise,
    },
    Desk {
        key: "wash",
        question: "How often must it be washed?",
        about: "What the held liquor leaves in the cake, wash by wash.",
        fields: &[
            line("held", "liquor held by the cake", "63 mL"),
            line("liquor", "what the liquor holds", "0.08 g/mL"),
            line("washes", "washes", "4 x 100 mL"),
            line("product", "the dry product", "43.9 g"),
            line("target", "may be left in it", "0.1 %"),
            more(line("wet", "or the wet cake", "107 g")),
            more(line("dry", "and the dry cake", "44 g")),
            more(line("density", "density of the liquor", "1.05 g/mL")),
            more(line("of", "what is washed out", "Na2SO4")),
            more(line("solubility", "solubility of the product", "0.01 g/L")),
            more(line("efficiency", "how well a wash mixes", "90 %")),
            more(lines("readings", "conductivity after each wash, one a line", "820\n160\n40")),
        ],
        answer: wash,
    },
    Desk {
        key: "titrate",
        question: "What do these titres say?",
        about: "How much a sample holds, from its titres and a titrant of known strength.",
        fields: &[
            lines("titres", "titres, one a line", "24.95 mL\n25.05 mL\n25.00 mL"),
            line("titrant", "strength of the titrant", "0.1000 mol/L"),
            line("of", "what is determined", "Cu"),
            line("weighed", "sample weighed", "0.250 g"),
            more(line("ratio", "reacting ratio, if not 1", "1")),
            more(line("blank", "blank", "0.05 mL")),
            more(line("standard", "standard, to find the strength instead", "Na2CO3")),
            more(line("purity", "purity of the standard", "99.9 %")),
            more(line("aliquot", "part of the sample titrated", "25 mL of 100 mL")),
            more(line("burette", "burette", "50 mL B")),
        ],
        answer: titrate,
    },
    Desk {
        key: "dry",
        question: "Is it dry?",
        about: "Where a series of weighings is heading, and how long it takes.",
        fields: &[
            lines("weighings", "weighings in order, one a line", "0 h 46.51 g\n1 h 44.61 g\n2 h 44.10 g\n3 h 43.95 g"),
            line("scatter", "scatter of one weighing", "0.02 g"),
            line("tolerance", "what may be left to lose", "0.05 %"),
            more(line("of", "the salt, to compare with its hydrates", "Cu2CO3(OH)2")),
        ],
        answer: |f| {
            let options = DryOptions { deviation: f.get("scatter"), tolerance: f.get("tolerance"), of: f.get("of") };
            ask::dry(&each(f, "weighings"), &options).map(|a| {
                let drawn = figure::drying_figure(&a).map(|drawn| ("drying".to_owned(), drawn));
                (document::dry_document(&a), drawn.into_iter().collect())
            })
        },
    },
];

/// An answer without figures.
fn plain(document: Document) -> (Document, Named) {
    (document, Named::new())
}

fn first<'a>(fields: &'a Fields, key: &str) -> &'a str {
    fields.get(key).unwrap_or_default()
}

fn each<'a>(fields: &'a Fields, key: &str) -> Vec<&'a str> {
    fields.raw(key).unwrap_or_default().lines().map(str::trim).filter(|line| !line.is_empty()).collect()
}

fn owned(fields: &Fields, key: &str) -> Vec<String> {
    each(fields, key).into_iter().map(str::to_owned).collect()
}

fn reaction(f: &Fields) -> Answer {
    let (gases, forms) = (owned(f, "gas"), owned(f, "form"));
    let options = ReactionOptions {
        at: f.get("at"),
        gases: &gases,
        forms: &forms,
        from: f.get("from"),
        to: f.get("to"),
        beside: &owned(f, "beside"),
        pairs: f.get("pairs").is_some(),
    };
    ask::reaction_with(first(f, "reaction"), &options)
        .map(|a| (document::reaction_document(&a), figure::reaction_figures(&a)))
}

fn equilibrium(f: &Fields) -> Answer {
    let (only, without) = (owned(f, "only"), owned(f, "without"));
    let options = EquilibriumOptions {
        at: f.get("at"),
        pressure: f.get("pressure"),
        volume: f.get("volume"),
        sweep: f.get("sweep"),
        adiabatic: f.get("adiabatic").is_some(),
        from: f.get("from"),
        only: &only,
        without: &without,
    };
    ask::equilibrium(&owned(f, "lots"), &options)
        .map(|a| (document::equilibrium_document(&a), figure::equilibrium_figures(&a)))
}

fn ignite(f: &Fields) -> Answer {
    let options = IgniteOptions {
        surroundings: f.get("in"),
        from: f.get("from"),
        to: f.get("to"),
        at: f.get("at"),
        found: f.get("found"),
    };
    ask::ignite(&owned(f, "lots"), &options).map(|a| (document::ignite_document(&a), figure::ignite_figures(&a)))
}

fn furnace(f: &Fields) -> Answer {
    let options = FurnaceOptions {
        at: f.get("at"),
        depth: f.get("depth"),
        both: f.get("both").is_some(),
        diameter: f.get("diameter"),
        time: f.get("time"),
        density: f.get("density"),
        conductivity: f.get("conductivity"),
        frequency: f.get("frequency"),
        energy: f.get("energy"),
        law: f.get("law"),
        surroundings: f.get("in"),
    };
    ask::furnace(first(f, "solid"), &options).map(|a| (document::furnace_document(&a), figure::furnace_figures(&a)))
}

fn heat(f: &Fields) -> Answer {
    let take = each(f, "take");
    let options = HeatOptions {
        take: &take,
        into: f.get("into"),
        capacity: f.get("capacity"),
        from: f.get("from"),
        boils: f.get("boils"),
        cooling: f.get("cooling"),
    };
    ask::heat(first(f, "reaction"), &options).map(|a| plain(document::heat_question_document(&a)))
}

fn gas(reaction: Option<&str>, f: &Fields) -> Answer {
    let take = each(f, "take");
    let options = GasOptions {
        take: &take,
        at: f.get("at"),
        over: f.get("over"),
        room: f.get("room"),
        air_changes: f.get("air_changes"),
        free: f.get("free"),
        liquid: f.get("liquid"),
        tube: f.get("tube"),
        flow: f.get("flow"),
        swept: f.get("swept"),
        oxygen: f.get("oxygen"),
    };
    ask::gas(reaction, &options).map(|a| plain(document::gas_question_document(&a)))
}

fn solution(f: &Fields) -> Answer {
    let (substances, gases) = (each(f, "substances"), each(f, "gases"));
    let options = SolutionOptions {
        substances: &substances,
        at: f.get("at"),
        water: f.get("water"),
        ph: f.get("ph"),
        balance: f.get("balance"),
        add: f.get("add"),
        to_ph: f.get("to_ph"),
        gases: &gases,
        solids: f.get("solids"),
        ph_uncertainty: f.get("ph_uncertainty"),
        windows: f.get("windows").is_some(),
        excess: f.get("excess"),
        excess_of: f.get("excess_of"),
        recorded: f.get("recorded"),
        free: f.get("free"),
        dilute: f.get("dilute"),
        redox: f.get("redox"),
        couples: f.get("couples"),
        potential: f.get("potential"),
        ..SolutionOptions::default()
    };
    ask::solution(&options).map(|a| (document::solution_document(&a), figure::solution_figures(&a)))
}

fn crystallise(f: &Fields) -> Answer {
    let options = CrystalliseOptions {
        substance: first(f, "substance"),
        from: first(f, "from"),
        to: first(f, "to"),
        salt: f.get("salt"),
        water: f.get("water"),
        evaporate: f.get("evaporate"),
        second: f.get("second"),
        held: f.get("held"),
        impurity: f.get("impurity"),
    };
    ask::crystallise(&options).map(|a| (document::crystallise_document(&a), figure::crystallise_figures(&a)))
}

fn wash(f: &Fields) -> Answer {
    let readings = each(f, "readings");
    let options = WashOptions {
        held: f.get("held"),
        wet: f.get("wet"),
        dry: f.get("dry"),
        density: f.get("density"),
        liquor: f.get("liquor"),
        of: f.get("of"),
        washes: f.get("washes"),
        product: f.get("product"),
        solubility: f.get("solubility"),
        efficiency: f.get("efficiency"),
        target: f.get("target"),
        readings: &readings,
    };
    ask::wash(&options).map(|a| (document::wash_document(&a), figure::wash_figures(&a)))
}

fn titrate(f: &Fields) -> Answer {
    let titres = each(f, "titres");
    let asked = ask::Titration {
        titres: &titres,
        blank: f.get("blank"),
        titrant: f.get("titrant"),
        standard: f.get("standard"),
        weighed: f.get("weighed"),
        purity: f.get("purity"),
        of: f.get("of"),
        ratio: f.get("ratio"),
        aliquot: f.get("aliquot"),
        burette: f.get("burette"),
    };
    ask::titrate(&asked).map(|a| plain(document::titrate_document(&a)))
}

#[cfg(test)]
mod tests;
