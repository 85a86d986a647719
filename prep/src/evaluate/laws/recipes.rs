//! Which preparations are tried?
//!
//! Six chemistries (basic copper carbonate, magnesium carbonate, basic zinc carbonate, calcium oxalate, iron oxalate, and
//! magnesium hydroxide, beside which gypsum falls out) with their dried and ignited forms, and recrystallisations. A recipe is a set of choices; written as a file it has one to a
//! dozen steps in an order that makes sense, and a reading still to be made of every lot. All are invented.

use proptest::prelude::*;
use proptest::sample::{select, subsequence};
use std::fmt::Write as _;

/// What one kind of preparation is made of.
#[derive(Clone, Copy, Debug)]
struct Chemistry {
    element: &'static str,
    /// What the bottle of the salt may hold.
    salts: &'static [&'static str],
    reagents: &'static [&'static str],
    /// Grams of the first reagent for one gram of the first salt.
    equivalent: f64,
    reaction: &'static str,
    /// What the dried solid may be; each alone is possible.
    dried: &'static [&'static str],
    /// Atmosphere and what the ignited solid may be.
    ignited: &'static [(&'static str, &'static [&'static str])],
    trace: &'static str,
}

const CHEMISTRIES: [Chemistry; 6] = [
    Chemistry {
        element: "Cu",
        salts: &["CuSO4·5H2O(s)", "CuSO4·3H2O(s)", "CuSO4·H2O(s)"],
        reagents: &["Na2CO3·10H2O(s)", "Na2CO3·H2O(s)", "Na2CO3(s)"],
        equivalent: 1.15,
        reaction: "2 CuSO4(aq) + 2 Na2CO3(aq) + H2O(l) -> Cu2CO3(OH)2(s) + 2 Na2SO4(aq) + CO2(g)",
        dried: &["Cu2CO3(OH)2·nH2O(s), n = 0 .. 1", "Cu3(CO3)2(OH)2(s)", "CuCO3(s)", "CuO(s)"],
        ignited: &[("air", &["CuO(s)", "Cu2O(s)"]), ("nitrogen", &["CuO(s)"])],
        trace: "Na2SO4(s)",
    },
    Chemistry {
        element: "Mg",
        salts: &["MgSO4·7H2O(s)", "MgSO4·H2O(s)"],
        reagents: &["Na2CO3(s)", "Na2CO3·H2O(s)"],
        equivalent: 0.43,
        reaction: "MgSO4(aq) + Na2CO3(aq) + 3 H2O(l) -> MgCO3·3H2O(s) + Na2SO4(aq)",
        dried: &["MgCO3·3H2O(s)", "Mg5(CO3)4(OH)2·nH2O(s), n = 3 .. 5", "Mg(OH)2(s)", "MgCO3·nH2O(s), n = 0 .. 2"],
        ignited: &[("air", &["MgO(s)", "MgCO3(s)", "Mg(OH)2(s)"]), ("carbon dioxide", &["MgO(s)", "MgCO3(s)"])],
        trace: "Na2SO4(s)",
    },
    Chemistry {
        element: "Zn",
        salts: &["ZnSO4·7H2O(s)", "ZnSO4·H2O(s)"],
        reagents: &["Na2CO3(s)", "Na2CO3·10H2O(s)"],
        equivalent: 0.37,
        reaction: "5 ZnSO4(aq) + 5 Na2CO3(aq) + 3 H2O(l) -> Zn5(CO3)2(OH)6(s) + 5 Na2SO4(aq) + 3 CO2(g)",
        dried: &["Zn5(CO3)2(OH)6·nH2O(s), n = 0 .. 2", "ZnCO3(s)", "ZnO(s)"],
        ignited: &[("air", &["ZnO(s)"]), ("air", &["ZnO(s)", "ZnCO3(s)"])],
        trace: "Na2SO4(s)",
    },
    Chemistry {
        element: "Ca",
        salts: &["CaCl2·2H2O(s)", "CaCl2·6H2O(s)"],
        reagents: &["(NH4)2C2O4·H2O(s)"],
        equivalent: 0.97,
        reaction: "CaCl2(aq) + (NH4)2C2O4(aq) + H2O(l) -> CaC2O4·H2O(s) + 2 NH4Cl(aq)",
        dried: &["CaC2O4·H2O(s)", "CaC2O4(s)"],
        ignited: &[("air", &["CaCO3(s)"]), ("nitrogen", &["CaCO3(s)"]), ("air", &["CaO(s)", "CaCO3(s)"])],
        trace: "NH4Cl(s)",
    },
    Chemistry {
        element: "Fe",
        salts: &["FeSO4·7H2O(s)", "FeSO4·H2O(s)"],
        reagents: &["K2C2O4·H2O(s)"],
        equivalent: 0.66,
        reaction: "FeSO4(aq) + K2C2O4(aq) + 2 H2O(l) -> FeC2O4·2H2O(s) + K2SO4(aq)",
        dried: &["FeC2O4·2H2O(s)", "FeC2O4(s)"],
        ignited: &[("air", &["Fe2O3(s)"]), ("air", &["Fe2O3(s)", "Fe3O4(s)"])],
        trace: "K2SO4(s)",
    },
    Chemistry {
        element: "Mg",
        salts: &["MgSO4·7H2O(s)", "MgSO4·H2O(s)"],
        reagents: &["Ca(OH)2(s)"],
        equivalent: 0.30,
        reaction: "MgSO4(aq) + Ca(OH)2(aq) -> Mg(OH)2(s) + CaSO4(aq)",
        dried: &["Mg(OH)2(s)", "MgO(s)"],
        ignited: &[("air", &["MgO(s)"]), ("nitrogen", &["MgO(s)", "Mg(OH)2(s)"])],
        trace: "CaSO4(s)",
    },
];

/// The choices behind one preparation.
#[derive(Clone, Debug)]
struct Recipe {
    chemistry: Chemistry,
    salts: Vec<&'static str>,
    reagents: Vec<&'static str>,
    assays: [&'static str; 2],
    rest: Option<&'static str>,
    /// Salt (g), water (g), reagent as a multiple of the equivalent.
    charges: (f64, f64, f64),
    /// Number of steps after the first, cut to what is left.
    steps: usize,
    clear: bool,
    part: (&'static str, &'static str, usize),
    dried: Vec<&'static str>,
    moist: bool,
    trace: Option<&'static str>,
    supposed: Option<&'static str>,
    ignited: (&'static str, &'static [&'static str]),
    portion: Option<(f64, bool, bool)>,
    loss: &'static str,
    held: Option<&'static str>,
    pick_up: Option<&'static str>,
}

fn some_of(all: &'static [&'static str]) -> impl Strategy<Value = Vec<&'static str>> {
    subsequence(all.to_vec(), 1..=all.len())
}

fn recipes() -> impl Strategy<Value = Recipe> {
    select(CHEMISTRIES.to_vec()).prop_flat_map(|chemistry| {
        let assay = || select(vec!["98 .. 100 %", ">= 90 %", "99.0 ± 0.3 %", "100 %", "60 .. 95 %", "60 ± 20 %"]);
        let what = (
            some_of(chemistry.salts),
            some_of(chemistry.reagents),
            [assay(), assay()],
            prop::option::of(select(vec!["soluble", "soluble combustible", "insoluble", "combustible"])),
            (0.05..200.0, 5.0..800.0, 0.2..3.0),
            1..9usize,
        );
        let how = (
            any::<bool>(),
            (select(vec!["filter", "decant"]), select(vec!["gravity", "suction"]), 0..6usize),
            some_of(chemistry.dried),
            any::<bool>(),
            prop::option::of(select(vec!["<= 0.5 %", "<= 40 %"])),
            prop::option::of(select(vec!["<= 2 %", "<= 20 %"])),
        );
        let then = (
            select(chemistry.ignited.to_vec()),
            prop::option::of((0.01..3.0, any::<bool>(), any::<bool>())),
            select(vec!["", "loss = \"none\"", "loss = \"5 ± 3 %\"", "film = \"0.1 .. 2 g\""]),
            prop::option::of(select(vec!["63 ± 10 g", "none", "0.5 .. 500 g"])),
            prop::option::of(select(vec![
                "{ insoluble = \"5 mg\" }",
                "{ combustible = \"0.1 g\", soluble = \"1 ± 1 mg\" }",
            ])),
        );
        (what, how, then).prop_map(move |(what, how, then)| Recipe {
            chemistry,
            salts: what.0,
            reagents: what.1,
            assays: what.2,
            rest: what.3,
            charges: what.4,
            steps: what.5,
            clear: how.0,
            part: how.1,
            dried: how.2,
            moist: how.3,
            trace: how.4,
            supposed: how.5,
            ignited: then.0,
            portion: then.1,
            loss: then.2,
            held: then.3,
            pick_up: then.4,
        })
    })
}

fn list(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    format!("[{}]", quoted.join(", "))
}

/// The file of a recipe.
struct Writer<'a> {
    recipe: &'a Recipe,
    text: String,
    /// The lot that the next step takes.
    lot: String,
}

impl Writer<'_> {
    fn step(&mut self, action: &str, gives: &str, fields: &str) {
        self.taking(action, &format!("{{ {} = \"all\" }}", self.lot.clone()), gives, fields);
    }

    /// A step with a reading of what it gives, still to be made; the lot that it gives is taken next.
    fn taking(&mut self, action: &str, take: &str, gives: &str, fields: &str) {
        let lot = gives.split([' ', '=']).next().unwrap_or_default().to_owned();
        let _ = write!(
            self.text,
            "[[step]]\nname = \"{action} {lot}\"\naction = \"{action}\"\ntake = {take}\ngives = {{ {gives} }}\n{fields}\n\
             [[step.reading]]\nid = \"{lot}\"\nof = \"{lot}\"\nin = \"dish\"\nwith = \"balance\"\nzeroed = \"once\"\n\n"
        );
        self.lot = lot;
    }

    fn head(&mut self) {
        let r = self.recipe;
        let rest = r.rest.map_or_else(String::new, |kind| format!("rest = \"{kind}\"\n"));
        let _ = write!(
            self.text,
            "title = \"A random preparation\"\naccount_for = \"{}\"\n\
             [[supply]]\nname = \"salt\"\nholds = {}\nassay = \"{}\"\n{rest}\
             [[supply]]\nname = \"reagent\"\nholds = {}\nassay = \"{}\"\n\
             [[instrument]]\nname = \"balance\"\nkind = \"balance\"\nresolution = \"0.01 g\"\ncapacity = \"2 kg\"\n\
             [[vessel]]\nname = \"dish\"\nmass = \"20.0 ± 0.5 g\"\n\n",
            r.chemistry.element,
            list(&r.salts),
            r.assays[0],
            list(&r.reagents),
            r.assays[1],
        );
    }

    fn wet_steps(&mut self) -> usize {
        let r = self.recipe;
        let (salt, water, excess) = r.charges;
        self.taking(
            "dissolve",
            &format!("{{ salt = \"{salt:.2} g\", water = \"{water:.1} g\" }}"),
            "liquor = \"all\"",
            "",
        );
        if r.clear {
            self.step("filter", "grit = \"solids\", clear = \"solution\"", "wash = \"2 x 20 g\"");
            "clear".clone_into(&mut self.lot);
        }
        let reagent = salt * r.chemistry.equivalent * excess;
        let take = format!("{{ {} = \"all\", reagent = \"{reagent:.3} g\", water = \"{water:.1} g\" }}", self.lot);
        self.taking("precipitate", &take, "slurry = \"all\"", &format!("reaction = \"{}\"", r.chemistry.reaction));
        let (action, by, washes) = r.part;
        let mut fields = if action == "filter" { format!("by = \"{by}\"\n") } else { String::new() };
        if washes > 0 {
            let _ = writeln!(fields, "wash = \"{washes} x {:.1} g\"", water / 3.0);
        }
        if let Some(held) = r.held {
            let _ = writeln!(fields, "held_liquor = \"{held}\"");
        }
        if r.steps >= 2 {
            self.step(action, "cake = \"solids\", filtrate = \"solution\"", &fields);
        }
        r.steps.saturating_sub(2)
    }

    /// Dries, grinds, divides and ignites as far as the steps go.
    fn dry_steps(&mut self, mut left: usize) {
        let r = self.recipe;
        let mut next = || {
            let more = left > 0;
            left = left.saturating_sub(1);
            more
        };
        if !next() {
            return;
        }
        let mut holds = r.dried.clone();
        if r.moist {
            holds.push("H2O(l)");
        }
        let trace =
            r.trace.map_or_else(String::new, |t| format!("trace = {{ \"{}\" = \"{t}\" }}\n", r.chemistry.trace));
        let pick_up = r.pick_up.map_or_else(String::new, |p| format!("pick_up = {p}\n"));
        self.step("dry", "dried = \"all\"", &format!("may_hold = {}\n{trace}{pick_up}{}", list(&holds), r.loss));
        if let Some(supposed) = r.supposed {
            let _ = write!(
                self.text,
                "[[suppose]]\nname = \"salt\"\nstep = \"dry dried\"\ntrace = {{ \"{}\" = \"{supposed}\" }}\n\n",
                r.chemistry.trace
            );
        }
        let (atmosphere, ignited) = r.ignited;
        let ignite = format!("atmosphere = \"{atmosphere}\"\nmay_hold = {}\n", list(ignited));
        if let Some((mass, test, combine)) = r.portion.filter(|_| next()) {
            self.step("divide", &format!("bulk = \"rest\", portion = \"{mass:.3} g\""), "");
            let purpose = if test { "purpose = \"test\"\nloss = \"none\"\n" } else { "" };
            self.taking("ignite", "{ portion = \"all\" }", "residue = \"all\"", &format!("{ignite}{purpose}"));
            "bulk".clone_into(&mut self.lot);
            if combine && next() {
                self.step("roast", "oxide = \"all\"", &ignite);
                self.taking("combine", "{ oxide = \"all\", residue = \"all\" }", "product = \"all\"", "");
            }
        } else if next() {
            self.step("ignite", "oxide = \"all\"", &ignite);
        }
        if next() {
            self.step("grind", "powder = \"all\"", "");
            // What was dried or burnt goes into water again, bound water and all.
            let take = format!("{{ {} = \"all\", water = \"50 g\" }}", self.lot);
            self.taking("redissolve", &take, "again = \"all\"", "");
        }
    }
}

fn written(recipe: &Recipe) -> String {
    let mut writer = Writer { recipe, text: String::new(), lot: String::new() };
    writer.head();
    let left = writer.wet_steps();
    writer.dry_steps(left);
    writer.text
}

/// A salt dissolved, boiled down, crystallised, filtered, dried and dissolved again.
fn recrystallisations() -> impl Strategy<Value = String> {
    let salts = select(vec![("Cu", "CuSO4·5H2O"), ("Mg", "MgSO4·7H2O"), ("Zn", "ZnSO4·7H2O"), ("Na", "NaCl")]);
    (salts, 1.0..300.0, 20.0..500.0, 0.1..1.5, 0..6usize).prop_map(|((element, salt), mass, water, boil, steps)| {
        let removes = water * boil;
        let steps = [
            format!("name = \"a\"\naction = \"dissolve\"\ntake = {{ salt = \"{mass:.2} g\", water = \"{water:.1} g\" }}\ngives = {{ a = \"all\" }}"),
            format!("name = \"b\"\naction = \"evaporate\"\ntake = {{ a = \"all\" }}\nremoves = \"{removes:.1} g\"\ngives = {{ b = \"all\" }}"),
            format!("name = \"c\"\naction = \"crystallise\"\ntake = {{ b = \"all\" }}\ncrystals = \"{salt}(s)\"\ngives = {{ c = \"all\" }}"),
            "name = \"d\"\naction = \"filter\"\ntake = { c = \"all\" }\nwash = \"1 x 10 mL\"\ngives = { d = \"solids\", l = \"solution\" }".to_owned(),
            format!("name = \"e\"\naction = \"dry\"\ntake = {{ d = \"all\" }}\nmay_hold = [\"{salt}(s)\", \"H2O(l)\"]\ngives = {{ e = \"all\" }}"),
            "name = \"f\"\naction = \"redissolve\"\ntake = { e = \"all\", water = \"100 mL\" }\ngives = { f = \"all\" }".to_owned(),
        ]
        .into_iter()
        .take(steps + 1)
        .map(|step| format!("[[step]]\n{step}\n"))
        .collect::<String>();
        format!(
            "title = \"A random recrystallisation\"\naccount_for = \"{element}\"\n[[supply]]\nname = \"salt\"\n\
             holds = \"{salt}(s)\"\nassay = \">= 95 %\"\n{steps}"
        )
    })
}

/// Random preparations, as files.
pub(crate) fn preparations() -> impl Strategy<Value = String> {
    prop_oneof![4 => recipes().prop_map(|recipe| written(&recipe)), 1 => recrystallisations()]
}
