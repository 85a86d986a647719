//! Which single questions can be asked, and how?
//!
//! One list of desks: each has its question as title, its fields, and a function from what was typed to a document. A new
//! question is a new row; its page, its errors and its place in the index follow. Asking leaves no trace in the notebook.

use super::blocking;
use super::page::Sheet;
use super::trouble::{Fields, Trouble};
use axum::extract::{Path, Query};
use maud::{Markup, html};
use prep::ask::{
    self, CrystalliseOptions, DryOptions, EquilibriumOptions, FurnaceOptions, GasOptions, HeatOptions, IgniteOptions,
    ReactionOptions, SolutionOptions, WashOptions,
};
use prep::outcome::Finding;
use report::document::{self, Block, Document};
use report::figure::{self, Named};
use report::html::formula::rich;

/// A field of a desk: key, label, example, whether it takes several lines.
type Field = (&'static str, &'static str, &'static str, bool);
/// The answer with its figures, or what cannot be read.
type Answer = Result<(Document, Named), Vec<Finding>>;

/// A question with its place.
struct Desk {
    key: &'static str,
    question: &'static str,
    about: &'static str,
    fields: &'static [Field],
    /// How many of them its example fills in, and how many stand open; the rest are wishes beyond the question.
    few: (usize, usize),
    answer: fn(&Fields) -> Answer,
}

const DESKS: [Desk; 14] = [
    Desk {
        key: "label",
        question: "What does this label mean?",
        about: "Salt, hydrate or element: which reckoning explains the figures on the label.",
        fields: &[("label", "the label, as printed", "zinc sulfate 220 mg = zinc 50 mg", false)],
        few: (1, 1),
        answer: |fields| {
            let answer = ask::label(fields.get("label").unwrap_or_default());
            let refused = super::trouble::refusals(&answer.findings).next().is_some();
            if refused { Err(answer.findings) } else { Ok(plain(document::label_document(&answer))) }
        },
    },
    Desk {
        key: "formula",
        question: "What is in this formula?",
        about: "Molar mass, composition, water, oxidation states.",
        fields: &[("formula", "the formula", "CuSO4·5H2O", false)],
        few: (1, 1),
        answer: |fields| {
            ask::formula(fields.get("formula").unwrap_or_default()).map(|a| plain(document::formula_document(&a)))
        },
    },
    Desk {
        key: "reaction",
        question: "What does this reaction give?",
        about: "Coefficients; heat, entropy and equilibrium constant where the species are known.",
        fields: &[
            ("reaction", "the reaction", "CaCO3(s) -> CaO(s) + CO2(g)", false),
            ("at", "at", "25 °C", false),
            ("beside", "held against other reactions of the same gas, one a line", "MgCO3(s) -> MgO(s) + CO2(g)", true),
            ("pairs", "held against metals, carbon and hydrogen", "yes", false),
        ],
        few: (2, 2),
        answer: |fields| {
            let options = ReactionOptions {
                at: fields.get("at"),
                beside: &owned(fields, "beside"),
                pairs: wished(fields, "pairs"),
                ..ReactionOptions::default()
            };
            ask::reaction_with(fields.get("reaction").unwrap_or_default(), &options)
                .map(|a| (document::reaction_document(&a), figure::reaction_figures(&a)))
        },
    },
    Desk {
        key: "substance",
        question: "What is known of this substance?",
        about: "Names, properties with their sources, hazard statements.",
        fields: &[("substance", "formula or name", "CuSO4·5H2O", false)],
        few: (1, 1),
        answer: |fields| {
            ask::substance(fields.get("substance").unwrap_or_default()).map(|a| plain(document::substance_document(&a)))
        },
    },
    Desk {
        key: "equilibrium",
        question: "What is there when nothing more can happen?",
        about: "Solids, melts and gas at a temperature and pressure, by the least Gibbs energy.",
        fields: &[
            ("lots", "what is brought together, one a line", "CaCO3(s) 1 mol\nair 2 L", true),
            ("at", "at", "900 °C", false),
            ("pressure", "pressure", "1 atm", false),
            ("sweep", "drawn over", "25 .. 1200 °C", false),
        ],
        few: (4, 4),
        answer: |fields| {
            let options = EquilibriumOptions {
                at: fields.get("at"),
                pressure: fields.get("pressure"),
                sweep: fields.get("sweep"),
                ..EquilibriumOptions::default()
            };
            ask::equilibrium(&owned(fields, "lots"), &options)
                .map(|a| (document::equilibrium_document(&a), figure::equilibrium_figures(&a)))
        },
    },
    Desk {
        key: "ignite",
        question: "What does this solid become?",
        about: "What a solid turns into as it is heated, with the mass that is left at each stage.",
        fields: &[
            ("lots", "the solid, with its mass; one a line", "CaC2O4·H2O(s) 10 g", true),
            ("in", "heated in", "air", false),
            ("at", "and the residue at", "600 °C", false),
            ("found", "left there, if weighed", "6.85 g", false),
        ],
        few: (3, 4),
        answer: |fields| {
            let options = IgniteOptions {
                surroundings: fields.get("in"),
                at: fields.get("at"),
                found: fields.get("found"),
                ..IgniteOptions::default()
            };
            ask::ignite(&owned(fields, "lots"), &options)
                .map(|a| (document::ignite_document(&a), figure::ignite_figures(&a)))
        },
    },
    Desk {
        key: "furnace",
        question: "When is the middle done?",
        about: "How long heat needs into a packed bed that takes it up, and what is left by then.",
        fields: &[
            ("solid", "the solid", "CaCO3(s)", false),
            ("at", "furnace at", "1000 °C", false),
            ("depth", "depth of the layer", "20 mm", false),
            ("time", "taken out after", "20 min", false),
            ("diameter", "or width of the crucible", "30 mm", false),
            ("density", "bulk density", "1 g/mL", false),
            ("in", "heated in", "own gas", false),
        ],
        few: (4, 4),
        answer: |fields| {
            let options = FurnaceOptions {
                at: fields.get("at"),
                depth: fields.get("depth"),
                time: fields.get("time"),
                diameter: fields.get("diameter"),
                density: fields.get("density"),
                surroundings: fields.get("in"),
                ..FurnaceOptions::default()
            };
            ask::furnace(fields.get("solid").unwrap_or_default(), &options)
                .map(|a| (document::furnace_document(&a), figure::furnace_figures(&a)))
        },
    },
    Desk {
        key: "heat",
        question: "How hot does it get?",
        about: "The rise of a batch, from the heat of its reaction, these amounts and the liquid it goes into.",
        fields: &[
            ("reaction", "the reaction", "CaO(s) + H2O(l) -> Ca(OH)2(s)", false),
            ("take", "what is taken, one a line", "28 g CaO", true),
            ("into", "liquid it goes into", "300 g", false),
            ("cooling", "cooling", "50 W", false),
        ],
        few: (4, 4),
        answer: |fields| {
            let take = lines(fields, "take");
            let options = HeatOptions {
                take: &take,
                into: fields.get("into"),
                cooling: fields.get("cooling"),
                ..HeatOptions::default()
            };
            ask::heat(fields.get("reaction").unwrap_or_default(), &options)
                .map(|a| plain(document::heat_question_document(&a)))
        },
    },
    Desk {
        key: "gas",
        question: "How much gas, and what does it come to in this room?",
        about: "Litres, the concentration in a room against the limits, why the vessel stays open.",
        fields: &[
            ("reaction", "the reaction", "CaCO3(s) + 2 HCl(aq) -> CaCl2(aq) + CO2(g) + H2O(l)", false),
            ("take", "what is taken, one a line", "10 g CaCO3", true),
            ("over", "comes over", "10 min", false),
            ("room", "room", "30 m3", false),
        ],
        few: (4, 4),
        answer: |fields| {
            let take = lines(fields, "take");
            let options =
                GasOptions { take: &take, over: fields.get("over"), room: fields.get("room"), ..GasOptions::default() };
            ask::gas(fields.get("reaction"), &options).map(|a| plain(document::gas_question_document(&a)))
        },
    },
    Desk {
        key: "solution",
        question: "What is in this solution?",
        about: "Species, pH and solids; the dose to a pH.",
        fields: &[
            ("substances", "substances, one a line", "CuSO4 0.4 mol/kg\nH2SO4 0.05 mol/kg", true),
            ("at", "at", "25 °C", false),
            ("ph", "pH, if measured", "1.0", false),
            ("balance", "ion that balances it", "Na", false),
            ("add", "add", "NaOH", false),
            ("to_ph", "until pH", "3.5", false),
            ("recorded", "curve that was read: amount and pH, one a line", "0 mL 1.05\n5 mL 1.12\n10 mL 1.22", true),
            ("windows", "where metals fall out", "yes", false),
            ("excess", "precipitant", "Na2C2O4", false),
            ("excess_of", "that takes out", "Zn", false),
            ("redox", "element over pH and potential", "Cu", false),
            ("potential", "measured potential", "0.34 V", false),
        ],
        few: (2, 6),
        answer: |fields| {
            let lines = lines(fields, "substances");
            let options = SolutionOptions {
                substances: &lines,
                at: fields.get("at"),
                ph: fields.get("ph"),
                balance: fields.get("balance"),
                add: fields.get("add"),
                to_ph: fields.get("to_ph"),
                recorded: fields.get("recorded"),
                windows: wished(fields, "windows"),
                excess: fields.get("excess"),
                excess_of: fields.get("excess_of"),
                redox: fields.get("redox"),
                potential: fields.get("potential"),
                ..SolutionOptions::default()
            };
            ask::solution(&options).map(|a| (document::solution_document(&a), figure::solution_figures(&a)))
        },
    },
    Desk {
        key: "crystallise",
        question: "How much crystallises?",
        about: "From one temperature to another, with the water that the crystals take.",
        fields: &[
            ("substance", "what crystallises", "CuSO4·5H2O", false),
            ("from", "from", "80 °C", false),
            ("to", "to", "20 °C", false),
            ("salt", "salt taken", "100 g", false),
            ("water", "water taken", "120 g", false),
            ("evaporate", "water evaporated", "20 g", false),
        ],
        few: (6, 6),
        answer: |fields| {
            let options = CrystalliseOptions {
                substance: fields.get("substance").unwrap_or_default(),
                from: fields.get("from").unwrap_or_default(),
                to: fields.get("to").unwrap_or_default(),
                salt: fields.get("salt"),
                water: fields.get("water"),
                evaporate: fields.get("evaporate"),
                ..CrystalliseOptions::default()
            };
            ask::crystallise(&options).map(|a| (document::crystallise_document(&a), figure::crystallise_figures(&a)))
        },
    },
    Desk {
        key: "wash",
        question: "How often must it be washed?",
        about: "What the held liquor leaves in the cake, wash by wash.",
        fields: &[
            ("held", "liquor held by the cake", "63 mL", false),
            ("liquor", "what the liquor holds, mass per volume", "0.08 g/mL", false),
            ("washes", "washes", "4 x 100 mL", false),
            ("product", "the dry product", "43.9 g", false),
            ("target", "may be left in it", "0.1 %", false),
        ],
        few: (5, 5),
        answer: |fields| {
            let options = WashOptions {
                held: fields.get("held"),
                liquor: fields.get("liquor"),
                washes: fields.get("washes"),
                product: fields.get("product"),
                target: fields.get("target"),
                ..WashOptions::default()
            };
            ask::wash(&options).map(|a| (document::wash_document(&a), figure::wash_figures(&a)))
        },
    },
    Desk {
        key: "titrate",
        question: "What do these titres say?",
        about: "How much a sample holds, from its titres and a titrant of known strength.",
        fields: &[
            ("titres", "titres, one a line", "24.95 mL\n25.05 mL\n25.00 mL", true),
            ("titrant", "strength of the titrant", "0.1000 mol/L", false),
            ("of", "what is determined", "Cu", false),
            ("weighed", "sample weighed", "0.250 g", false),
            ("ratio", "reacting ratio, if not 1", "1", false),
            ("blank", "blank", "0.05 mL", false),
            ("standard", "standard, to find the strength instead", "", false),
        ],
        few: (4, 7),
        answer: |fields| {
            let titres = lines(fields, "titres");
            let asked = ask::Titration {
                titres: &titres,
                titrant: fields.get("titrant"),
                of: fields.get("of"),
                weighed: fields.get("weighed"),
                ratio: fields.get("ratio"),
                blank: fields.get("blank"),
                standard: fields.get("standard"),
                ..ask::Titration::default()
            };
            ask::titrate(&asked).map(|a| plain(document::titrate_document(&a)))
        },
    },
    Desk {
        key: "dry",
        question: "Is it dry?",
        about: "Where a series of weighings is heading, and how long it takes.",
        fields: &[
            ("weighings", "weighings in order, one a line", "0 h 46.51 g\n1 h 44.61 g\n2 h 44.10 g\n3 h 43.95 g", true),
            ("scatter", "scatter of one weighing", "0.02 g", false),
            ("tolerance", "what may be left to lose", "0.05 %", false),
        ],
        few: (3, 3),
        answer: |fields| {
            let options = DryOptions { deviation: fields.get("scatter"), tolerance: fields.get("tolerance"), of: None };
            ask::dry(&lines(fields, "weighings"), &options).map(|a| {
                let drawn = figure::drying_figure(&a).map(|drawn| ("drying".to_owned(), drawn));
                (document::dry_document(&a), drawn.into_iter().collect())
            })
        },
    },
];

/// Whether a wish was written down, other than as a no.
fn wished(fields: &Fields, key: &str) -> bool {
    fields.get(key).is_some_and(|word| !word.trim().eq_ignore_ascii_case("no"))
}

/// An answer without figures.
fn plain(document: Document) -> (Document, Named) {
    (document, Named::new())
}

/// The answer with its figures behind its first section.
fn drawn((mut document, figures): (Document, Named)) -> Document {
    let is_heading = |block: &Block| matches!(block, Block::Heading(_));
    let first = document.blocks.iter().position(is_heading).unwrap_or(document.blocks.len());
    let blocks = figures
        .into_iter()
        .flat_map(|(_, figure)| [Block::Heading(figure.title.clone()), Block::Figure(Box::new(figure))]);
    let blocks: Vec<Block> = blocks.collect();
    document.blocks.splice(first..first, blocks);
    document
}

fn lines<'a>(fields: &'a Fields, key: &str) -> Vec<&'a str> {
    fields.raw(key).unwrap_or_default().lines().map(str::trim).filter(|line| !line.is_empty()).collect()
}

fn owned(fields: &Fields, key: &str) -> Vec<String> {
    lines(fields, key).into_iter().map(str::to_owned).collect()
}

/// All questions.
pub async fn index() -> Sheet {
    Sheet::new("Questions", "/questions").with(html! {
        h1 { "Questions" }
        p.sub { "A question asked here leaves no trace in the notebook." }
        dl.desks { @for desk in &DESKS {
            dt { a href=(format!("/questions/{}", desk.key)) { (desk.question) } }
            dd { (desk.about) }
        } }
    })
}

/// One question, and its answer if it was asked.
pub async fn show(Path(which): Path<String>, Query(asked): Query<Vec<(String, String)>>) -> Result<Sheet, Trouble> {
    let desk = DESKS.iter().find(|desk| desk.key == which);
    let desk = desk.ok_or_else(|| Trouble::missing("This question is not among those that can be asked."))?;
    let fields = Fields(asked);
    let first = desk.fields.first().map_or("", |(key, ..)| *key);
    blocking(move || {
        let answer = fields.get(first).is_some().then(|| (desk.answer)(&fields));
        if let Some(Err(findings)) = &answer
            && super::trouble::refusals(findings).next().is_some()
        {
            return Err(Trouble::refused(findings));
        }
        Ok(Sheet::new(desk.question, "/questions").with(page(desk, &fields, answer)))
    })
    .await
}

fn page(desk: &Desk, fields: &Fields, answer: Option<Answer>) -> Markup {
    let wrong = matches!(answer, Some(Err(_)));
    html! {
        p.kick { a href="/questions" { "Questions" } }
        h1 { (desk.question) }
        p.sub { (desk.about) }
        form.find.question {
            @for at in 0..desk.few.1.min(desk.fields.len()) { (field(desk, fields, at, wrong)) }
            @if desk.fields.len() > desk.few.1 {
                @let more = desk.few.1..desk.fields.len();
                details.more open[more.clone().any(|at| fields.get(desk.fields[at].0).is_some())] {
                    summary { "more" }
                    div { @for at in more { (field(desk, fields, at, wrong)) } }
                }
            }
            button { "Work it out" }
        }
        @match answer {
            Some(Ok(answer)) => section.answer aria-live="polite" { (report::html::body(&drawn(answer))) },
            Some(Err(findings)) => div id="wrong" role="alert" {
                @for finding in &findings {
                    p.err { b { "Not understood." } " " (rich(&finding.message)) "." }
                    @for hint in &finding.hints { p.q2 { (rich(hint)) } }
                }
            },
            None => p.q2 { "For instance: " a href=(example(desk)) { (rich(desk.fields.first().map_or("", |(_, _, example, _)| example.lines().next().unwrap_or_default()))) } },
        }
    }
}

/// The address that asks the example.
fn example(desk: &Desk) -> String {
    let pairs = desk.fields.iter().map(|(key, _, example, _)| format!("{key}={}", super::page::address(example)));
    format!("/questions/{}?{}", desk.key, pairs.take(desk.few.0).collect::<Vec<_>>().join("&"))
}

/// One field of a desk; what is wrong is told of the first.
fn field(desk: &Desk, fields: &Fields, at: usize, wrong: bool) -> Markup {
    let (key, label, example, several) = desk.fields[at];
    html! {
        span.fl class=(if at == 0 { "grow" } else { "" }) {
            label for=(key) { (label) }
            @if several {
                textarea id=(key) name=(key) rows=(if at == 0 { "4" } else { "3" }) placeholder=(example) { (fields.raw(key).unwrap_or_default()) }
            } @else {
                input id=(key) name=(key) value=(fields.raw(key).unwrap_or_default()) placeholder=(example) autocomplete="off"
                    size=[(at > 0).then_some("10")]
                    aria-invalid=[(at == 0 && wrong).then_some("true")] aria-describedby=[(at == 0 && wrong).then_some("wrong")];
            }
        }
    }
}
