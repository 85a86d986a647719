//! Which tables and fields does a preparation file have, and what goes into each?
//!
//! One line for each field: its key, the kind of its value, an example and what it says. The canonical layout, the
//! schema for editors, the skeleton of a new file and the reference all come from these lists. The readers in
//! [`crate::read`] ask for their fields one by one; a test compares what they ask for with what stands here, so a field
//! that is read and not listed fails. A new field is a new line, in the place where it should stand in the reference.

use crate::action::{Atmosphere, MANNERS};
use crate::bench_test::BenchTest;
use crate::model::ForeignKind;
use chem::Dimension;

/// What the value of a field is.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// Text of any sort: a name, a label, a remark.
    Text,
    /// One text or a list of them.
    Texts,
    /// One of some words.
    Word(fn() -> Vec<&'static str>),
    /// Symbols of elements, one or a list.
    Elements,
    /// A quantity of this dimension.
    Quantity(Dimension),
    /// Quantities of this dimension, one or a list.
    Quantities(Dimension),
    /// A quantity of this dimension, or one of some words, such as `none`.
    QuantityOrWord(Dimension, &'static [&'static str]),
    /// A quantity of water or of mass.
    Charge,
    /// A mass, a volume or a count.
    Amount,
    /// Money: a figure and a currency.
    Price,
    /// Hardness of water.
    Hardness,
    /// Strength of a solution: a quantity, perhaps followed by `w/w` or `w/v`.
    Strength,
    /// A number of portions of a quantity, `4 x 100 g`.
    Portions,
    /// One species.
    Species,
    /// Species, one or a list.
    SpeciesList,
    /// Species or families of hydrates, one or a list.
    Patterns,
    /// Reactions, one or a list.
    Reactions,
    /// Names with what is taken of each: a quantity, a count, or `all`.
    Amounts,
    /// Names of lots with the part that each is.
    Parts,
    /// Kinds of foreign matter with their mass.
    Foreign,
    /// Species with their largest fraction.
    Traces,
    /// Species with their fraction.
    Shares,
    /// A date and time, or text.
    Time,
    /// A table in one line.
    Inline(&'static Table),
    /// Tables in double brackets.
    Tables(&'static Table),
}

/// One field.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Its key.
    pub key: &'static str,
    /// What its value is.
    pub kind: Kind,
    /// Whether it has to be there.
    pub needed: bool,
    /// Fields that may stand in its place.
    pub instead: &'static [&'static str],
    /// A value as it stands in a file; empty for tables in double brackets.
    pub example: &'static str,
    /// What it says, in one line.
    pub about: &'static str,
}

/// A table and its fields, in the order of the reference.
#[derive(Clone, Copy, Debug)]
pub struct Table {
    /// Its key; empty for the file itself.
    pub key: &'static str,
    /// What it is for, in one line.
    pub about: &'static str,
    /// Its fields.
    pub fields: &'static [Field],
}

impl Table {
    /// The field of this key.
    #[must_use]
    pub fn field(&self, key: &str) -> Option<&'static Field> {
        self.fields.iter().find(|field| field.key == key)
    }

    /// The table of this key, in double brackets or in one line.
    #[must_use]
    pub fn inner(&self, key: &str) -> Option<&'static Table> {
        self.field(key).and_then(|field| match field.kind {
            Kind::Inline(table) | Kind::Tables(table) => Some(table),
            _ => None,
        })
    }
}

const fn needed(key: &'static str, kind: Kind, example: &'static str, about: &'static str) -> Field {
    Field { key, kind, needed: true, instead: &[], example, about }
}

const fn may(key: &'static str, kind: Kind, example: &'static str, about: &'static str) -> Field {
    Field { key, kind, needed: false, instead: &[], example, about }
}

/// A field that has to be there unless another one is.
const fn needed_unless(
    key: &'static str,
    kind: Kind,
    instead: &'static [&'static str],
    example: &'static str,
    about: &'static str,
) -> Field {
    Field { key, kind, needed: true, instead, example, about }
}

fn bench_tests() -> Vec<&'static str> {
    BenchTest::all().iter().map(|test| test.name).collect()
}

fn actions() -> Vec<&'static str> {
    MANNERS.iter().map(|manner| manner.word).collect()
}

fn atmospheres() -> Vec<&'static str> {
    Atmosphere::WORDS.iter().map(|(word, _)| *word).collect()
}

/// The kinds of foreign matter.
#[must_use]
pub fn foreign_kinds() -> Vec<&'static str> {
    ForeignKind::ALL.iter().map(|(_, word)| *word).collect()
}

/// The word for nothing.
const NONE: &[&str] = &["none"];

/// What a lot may be as part of a step's result, beside a mass.
pub const PART_WORDS: [&str; 4] = ["all", "solids", "solution", "rest"];

/// What can be done in one step: the ways of all actions.
fn instruments() -> Vec<&'static str> {
    std::iter::once("balance").chain(crate::ware::KINDS).collect()
}

fn ways() -> Vec<&'static str> {
    let mut words: Vec<&str> = MANNERS.iter().flat_map(|manner| crate::losses::ways(manner.action)).collect();
    words.sort_unstable();
    words.dedup();
    words
}

/// The file itself.
pub static FILE: Table = Table {
    key: "",
    about: "One preparation: what is taken, done and weighed.",
    fields: &[
        needed("title", Kind::Text, r#""Copper from garden bluestone""#, "what the preparation is called"),
        may("target", Kind::Inline(&TARGET), r#"{ substance = "CuO(s)", amount = "25 g" }"#, "what is to be made"),
        may("account_for", Kind::Elements, r#""Cu""#, "the element whose whereabouts and yields are reckoned"),
        may(
            "claim",
            Kind::Text,
            r#""24.4 g CuO, yield 97 %""#,
            "what you would say of the product, to be held against the evidence",
        ),
        may("closed", Kind::Time, "2026-05-04", "when the books were closed: from then on others may learn from it"),
        may("author", Kind::Text, r#""A. Author""#, "who did it, for the report"),
        may(
            "run",
            Kind::Text,
            r#""14, the second of two; the first gave 23.1 g""#,
            "which run, and what the others gave",
        ),
        may("purpose", Kind::Text, r#""a pigment, after an old recipe""#, "what it is for, and who did it before"),
        may("afterwards", Kind::Text, r#""wash with warm water""#, "what you would do otherwise another time"),
        may("learn_from", Kind::Texts, r#""closed""#, "folder or files of closed preparations, to learn losses from"),
        may("supply", Kind::Tables(&SUPPLY), "", "a bottle, bag or box on the shelf"),
        may("instrument", Kind::Tables(&INSTRUMENT), "", "a balance, or a pipette, burette, flask or cylinder"),
        may("vessel", Kind::Tables(&VESSEL), "", "a crucible or dish that is weighed with its contents"),
        may(
            "room",
            Kind::Quantity(Dimension::VOLUME),
            r#""30 m3""#,
            "the room it is done in; gases are reckoned in it",
        ),
        needed("step", Kind::Tables(&STEP), "", "what is done, in the order in which it is done"),
        may("suppose", Kind::Tables(&SUPPOSE), "", "what would follow if a lot held a trace of something else"),
        may("waste", Kind::Tables(&WASTE), "", "a jar that takes waste"),
        may("accept", Kind::Tables(&ACCEPT), "", "a caution that is accepted, with the reason"),
    ],
};

/// A jar that takes waste.
pub static WASTE: Table = Table {
    key: "waste",
    about: "A jar that takes waste. What meets in it is screened.",
    fields: &[
        needed("name", Kind::Text, r#""copper jar""#, "what the jar is called"),
        may("holds", Kind::SpeciesList, r#"["CuSO4(aq)", "NaCl(aq)"]"#, "what is in it already"),
        may("takes", Kind::Texts, r#"["liquor"]"#, "lots that go into it"),
        may("limit", Kind::Texts, r#"["Cu 1.5 mg/L"]"#, "your own town's limits for what is let go"),
    ],
};

/// A caution that is accepted.
pub static ACCEPT: Table = Table {
    key: "accept",
    about: "A caution of the screen that is accepted; it stays in the record as a note.",
    fields: &[
        needed("finding", Kind::Text, r#""gas-released""#, "code of the caution"),
        may("step", Kind::Text, r#""dissolve""#, "the step; everywhere without"),
        needed("reason", Kind::Text, r#""done outdoors""#, "why it may stand"),
    ],
};

/// What is to be made.
pub static TARGET: Table = Table {
    key: "target",
    about: "What is to be made.",
    fields: &[
        needed("substance", Kind::Species, r#""CuO(s)""#, "formula with its phase"),
        may("amount", Kind::Quantity(Dimension::MASS), r#""25 g""#, "mass wanted"),
    ],
};

/// A supply.
pub static SUPPLY: Table = Table {
    key: "supply",
    about: "A bottle, bag or box on the shelf, as its label has it.",
    fields: &[
        needed("name", Kind::Text, r#""bluestone""#, "what the steps call it"),
        may("label", Kind::Text, r#""copper sulfate pentahydrate, 98 % min""#, "what the label says, word for word"),
        needed_unless(
            "holds",
            Kind::SpeciesList,
            &["label", "from", "hardness"],
            r#""CuSO4·5H2O(s)""#,
            "what it holds; list every hydrate that it may be",
        ),
        may("assay", Kind::Quantity(Dimension::DIMENSIONLESS), r#"">= 98 %""#, "mass fraction of what it holds"),
        may("strength", Kind::Strength, r#""36 % w/w""#, "strength of a solution, instead of an assay"),
        may("density", Kind::Quantity(Dimension::DENSITY), r#""1.18 g/mL""#, "density of a solution; allows volumes"),
        may("content", Kind::Quantity(Dimension::MASS), r#""50 mg""#, "content of one tablet, instead of an assay"),
        may("content_of", Kind::Text, r#""Cu""#, "the element that `content` counts, where it is not the salt"),
        may("unit_mass", Kind::Quantity(Dimension::MASS), r#""0.62 ± 0.01 g""#, "mean mass of one tablet"),
        may(
            "of_label",
            Kind::Quantity(Dimension::DIMENSIONLESS),
            r#""98 .. 108 %""#,
            "what is found in such goods, as a share of the label",
        ),
        may("rest", Kind::Word(foreign_kinds), r#""insoluble""#, "what the rest is, as far as it is known"),
        may("took_up", Kind::Shares, r#"{ "H2O(l)" = "<= 8 %" }"#, "what it drew on the shelf: water, carbonate"),
        may("hardness", Kind::Hardness, r#""16 °dH""#, "hardness of tap water"),
        may(
            "from",
            Kind::Inline(&FROM),
            r#"{ file = "bluestone.toml", lot = "copper oxide" }"#,
            "a lot of another preparation, which brings its composition",
        ),
        may("pack", Kind::Amount, r#""1 kg""#, "what is bought at once: a mass, a volume or a count"),
        may("price", Kind::Price, r#""4.90 EUR""#, "what one pack costs"),
        may("left", Kind::Amount, r#""350 ± 5 g""#, "what is there before this preparation"),
        may("opened", Kind::Time, "2026-03-01", "when it was opened"),
    ],
};

/// Where a supply comes from.
pub static FROM: Table = Table {
    key: "from",
    about: "A lot of another preparation as a supply.",
    fields: &[
        needed("file", Kind::Text, r#""bluestone.toml""#, "file of the other preparation, beside this one"),
        needed("lot", Kind::Text, r#""copper oxide""#, "the lot that it gives"),
    ],
};

/// A balance.
pub static INSTRUMENT: Table = Table {
    key: "instrument",
    about: "A balance, or volumetric ware. What is not stated is taken from its class.",
    fields: &[
        needed("name", Kind::Text, r#""pocket balance""#, "what the readings call it"),
        needed(
            "kind",
            Kind::Word(instruments),
            r#""balance""#,
            "`balance`, or the kind of ware: `pipette`, `burette` …",
        ),
        needed_unless(
            "resolution",
            Kind::Quantity(Dimension::MASS),
            &["capacity"],
            r#""0.01 g""#,
            "step of the display of a balance",
        ),
        may("repeatability", Kind::Quantity(Dimension::MASS), r#""0.015 g""#, "standard deviation of repeated figures"),
        may("slope", Kind::Quantity(Dimension::DIMENSIONLESS), r#""0 ± 0.02 %""#, "what remains unknown of its slope"),
        may(
            "curvature",
            Kind::QuantityOrWord(Dimension::MASS, NONE),
            r#""0.005 g""#,
            "deviation at half load, or `none`",
        ),
        may("capacity", Kind::Amount, r#""200 g""#, "largest load; of ware its volume, `25 mL`"),
        may("class", Kind::Word(|| vec!["A", "AS", "B"]), r#""B""#, "class of accuracy of ware; B if not stated"),
    ],
};

/// A vessel.
pub static VESSEL: Table = Table {
    key: "vessel",
    about: "A crucible, dish or bottle that is weighed with its contents.",
    fields: &[
        needed("name", Kind::Text, r#""crucible 3""#, "what the readings call it"),
        may("tare", Kind::Quantity(Dimension::MASS), r#""25.130 ± 0.002 g""#, "its empty mass, if known beforehand"),
        may("mass", Kind::Quantity(Dimension::MASS), r#""25.130 ± 0.002 g""#, "the same as `tare`"),
        may("capacity", Kind::Quantity(Dimension::VOLUME), r#""600 mL""#, "what it holds up to the brim"),
    ],
};

/// A step.
pub static STEP: Table = Table {
    key: "step",
    about: "What is done, in the order in which it is done.",
    fields: &[
        needed("name", Kind::Text, r#""dissolve""#, "what the step is called"),
        needed("action", Kind::Word(actions), r#""dissolve""#, "what is done"),
        may("by", Kind::Word(ways), r#""suction""#, "how it is done, where the losses depend on it"),
        may("purpose", Kind::Word(|| vec!["test"]), r#""test""#, "`test` for a portion that is used up for a test"),
        may("caution", Kind::Texts, r#""Foams up: open vessel, add slowly.""#, "what to look out for"),
        needed(
            "take",
            Kind::Amounts,
            r#"{ bluestone = "100.0 g", water = "400 g" }"#,
            "supplies by mass, lots by `all`",
        ),
        may(
            "reaction",
            Kind::Reactions,
            r#"["CuSO4(aq) + Zn(s) -> Cu(s) + ZnSO4(aq)"]"#,
            "reactions that run, one after the other",
        ),
        may("conversion", Kind::Quantity(Dimension::DIMENSIONLESS), r#""95 .. 100 %""#, "how far they run"),
        may(
            "beside",
            Kind::Shares,
            r#"{ "CaSO4·2H2O(s)" = "40 ± 10 %" }"#,
            "foreign solids beside, as a share of what could fall out",
        ),
        may("crystals", Kind::SpeciesList, r#""CuSO4·5H2O(s)""#, "what crystallises"),
        may(
            "ph",
            Kind::Quantity(Dimension::DIMENSIONLESS),
            r#""3.5""#,
            "the pH it is brought to, by what is charged last",
        ),
        may("removes", Kind::Charge, r#""300 g""#, "water that is evaporated"),
        may(
            "held_liquor",
            Kind::QuantityOrWord(Dimension::MASS, NONE),
            r#""63 ± 10 g""#,
            "liquor that the solids hold back before they are washed",
        ),
        may(
            "passes",
            Kind::QuantityOrWord(Dimension::DIMENSIONLESS, NONE),
            r#""<= 1 %""#,
            "share of the solids that runs through",
        ),
        may("wash", Kind::Portions, r#""4 x 100 g""#, "portions of water through the solids"),
        may("in", Kind::Text, r#""beaker""#, "the vessel in which it is done"),
        may("duration", Kind::Quantity(Dimension::TIME), r#""2 h""#, "how long it takes"),
        may(
            "attended",
            Kind::QuantityOrWord(Dimension::TIME, &["all", "none"]),
            r#""20 min""#,
            "how long hands are needed, or `all` or `none`",
        ),
        may(
            "temperature",
            Kind::Quantity(Dimension::TEMPERATURE),
            r#""105 °C""#,
            "temperature of the bath, oven or furnace",
        ),
        may("atmosphere", Kind::Word(atmospheres), r#""air""#, "what it is heated in"),
        may(
            "may_hold",
            Kind::Patterns,
            r#"["Cu2CO3(OH)2·nH2O(s), n = 0 .. 1", "H2O(l)"]"#,
            "all the lot may be after drying or ignition, or `equilibrium`",
        ),
        may("trace", Kind::Traces, r#"{ "Na2SO4(s)" = "<= 2 %" }"#, "what it may hold besides, and at most how much"),
        may(
            "quote_as",
            Kind::SpeciesList,
            r#"["CuCO3(s)", "Cu2CO3(OH)2(s)"]"#,
            "formulas under which a yield is quoted",
        ),
        may(
            "film",
            Kind::QuantityOrWord(Dimension::MASS, NONE),
            r#""0.02 .. 0.10 g""#,
            "what stays in the old vessel, or `none`",
        ),
        may(
            "loss",
            Kind::QuantityOrWord(Dimension::DIMENSIONLESS, NONE),
            r#""0.5 .. 1.0 %""#,
            "share that is lost, or `none`",
        ),
        may("pick_up", Kind::Foreign, r#"{ combustible = "5 mg" }"#, "foreign matter that comes in, by its kind"),
        needed("gives", Kind::Parts, r#"{ liquor = "all" }"#, "the lots that come out"),
        may("note", Kind::Text, r#""stirred for half an hour""#, "a remark"),
        may("reading", Kind::Tables(&READING), "", "what a balance showed"),
        may("test", Kind::Tables(&TEST), "", "what a test of a portion found"),
    ],
};

/// A reading.
pub static READING: Table = Table {
    key: "reading",
    about: "What a balance or a burette showed. It is never changed: a correction is a new reading.",
    fields: &[
        needed("id", Kind::Text, r#""r1""#, "what other readings call it"),
        may(
            "weigh",
            Kind::Quantities(Dimension::MASS),
            r#""43.90 g""#,
            "the figure as displayed, or a list of them until the mass stays",
        ),
        may("every", Kind::Quantity(Dimension::TIME), r#""30 min""#, "time between the weighings of a list"),
        may(
            "after",
            Kind::Quantities(Dimension::TIME),
            r#"["0 h", "1 h", "2.5 h"]"#,
            "or the time of each weighing of a list since the start",
        ),
        may(
            "constant_within",
            Kind::Quantity(Dimension::DIMENSIONLESS),
            r#""0.05 %""#,
            "what may be left to lose when a list is called constant",
        ),
        may(
            "volume",
            Kind::Quantity(Dimension::VOLUME),
            r#""24.95 mL""#,
            "or the volume of a charge, as read off the ware",
        ),
        may("of", Kind::Text, r#""precipitate""#, "the lot on the pan"),
        may("charge", Kind::Text, r#""bluestone""#, "or the supply that is weighed out"),
        may("in", Kind::Text, r#""crucible 3""#, "the vessel on the pan"),
        needed("with", Kind::Text, r#""pocket balance""#, "the balance, or the ware"),
        may("at", Kind::Time, "2026-05-02T11:20:00", "when it was read"),
        may("zeroed", Kind::Text, r#""morning""#, "name of the zero that readings share"),
        may("corrects", Kind::Text, r#""r1""#, "the earlier reading that this one corrects"),
        may("reason", Kind::Text, r#""read before the pan came to rest""#, "why it was wrong"),
        may("note", Kind::Text, r#""draught""#, "a remark"),
    ],
};

/// A test by its result.
pub static TEST: Table = Table {
    key: "test",
    about: "What a test of a portion found. The portion is taken to be like the lot; it is not taken off the books.",
    fields: &[
        needed("id", Kind::Text, r#""t1""#, "what other tests call it"),
        needed("kind", Kind::Word(bench_tests), r#""titre""#, "the test"),
        needed("of", Kind::Text, r#""precipitate""#, "the lot"),
        may("as", Kind::Text, r#""Cu""#, "element or oxide a titre is stated as, if not the one accounted for"),
        may("found", Kind::Text, r#""55.6 ± 0.3 %""#, "the result, or `yes` or `no`; left out until it is made"),
        may("at", Kind::Time, "2026-05-02T11:20:00", "when it was made"),
        may("corrects", Kind::Text, r#""t1""#, "the earlier test that this one corrects"),
        may("reason", Kind::Text, r#""titrant was not standardised""#, "why it was wrong"),
        may("note", Kind::Text, r#""end point sluggish""#, "a remark"),
    ],
};

/// A supposition.
pub static SUPPOSE: Table = Table {
    key: "suppose",
    about: "What would follow if the lot of a step held a trace of something else.",
    fields: &[
        needed("name", Kind::Text, r#""up to 2 % sodium sulfate occluded""#, "the supposition in words"),
        needed("step", Kind::Text, r#""dry""#, "the step that dries or ignites the lot"),
        may("trace", Kind::Traces, r#"{ "Na2SO4(s)" = "<= 2 %" }"#, "what the lot may hold, and at most how much"),
    ],
};

/// All tables, the file itself first.
pub static TABLES: [&Table; 12] =
    [&FILE, &TARGET, &SUPPLY, &FROM, &INSTRUMENT, &VESSEL, &STEP, &READING, &TEST, &SUPPOSE, &WASTE, &ACCEPT];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::{Finding, Severity};
    use std::collections::BTreeSet;

    /// A file whose only field is one of a table.
    fn file_with(table: &Table, field: &str) -> String {
        match table.key {
            "" => format!("{field}\n"),
            "target" => format!("[target]\n{field}\n"),
            "from" => format!("[[supply]]\nname = \"s\"\n[supply.from]\n{field}\n"),
            "reading" => format!("[[step]]\nname = \"s\"\n[[step.reading]]\n{field}\n"),
            "test" => format!("[[step]]\nname = \"s\"\n[[step.test]]\n{field}\n"),
            key => format!("[[{key}]]\n{field}\n"),
        }
    }

    fn findings(text: &str) -> Vec<Finding> {
        crate::read(text.as_bytes()).findings
    }

    /// The fields that the reader of a table asks for: it lists them for a key that is like none of them.
    fn asked(table: &Table) -> BTreeSet<String> {
        let odd = "zzzzzzzzzzzzzzzzzzzz";
        let told = findings(&file_with(table, &format!("{odd} = \"1\"")));
        let finding = told.iter().find(|f| f.code == "unknown-key" && f.message.contains(odd)).expect("an unknown key");
        finding.hints.concat().split('`').skip(1).step_by(2).map(str::to_owned).collect()
    }

    #[test]
    fn the_lists_are_those_of_the_readers() {
        for table in TABLES {
            let listed: BTreeSet<String> = table.fields.iter().map(|field| field.key.to_owned()).collect();
            assert_eq!(listed.len(), table.fields.len(), "a field of `{}` is listed twice", table.key);
            assert_eq!(listed, asked(table), "fields listed here, and asked for by the reader of `{}`", table.key);
        }
    }

    #[test]
    fn needed_is_what_the_readers_miss() {
        // What `from` lacks is told in one sentence.
        for table in TABLES.into_iter().filter(|table| table.key != FROM.key) {
            let told = findings(&file_with(table, "zzzzzzzzzzzzzzzzzzzz = 1"));
            for field in table.fields.iter().filter(|field| field.key != "step" && field.key != "name") {
                let missed = told.iter().any(|f| {
                    f.code == "missing-field"
                        && f.message.ends_with(&format!("has no `{}`", field.key))
                        && names(f, table)
                });
                assert_eq!(missed, field.needed, "`{}` of `{}`", field.key, table.key);
            }
        }
    }

    /// Whether a finding is about this table.
    fn names(finding: &Finding, table: &Table) -> bool {
        let table = if table.key.is_empty() { "preparation" } else { table.key };
        finding.message.split_whitespace().take(3).any(|word| word == table)
    }

    #[test]
    fn examples_are_read_without_complaint() {
        for table in TABLES {
            for field in table.fields.iter().filter(|field| !field.example.is_empty()) {
                let text = file_with(table, &format!("{} = {}", field.key, field.example));
                let from = text.find(field.example).expect("it stands there");
                let told = findings(&text);
                // That names exist elsewhere is for the whole file; a content needs its unit.
                let other = ["unknown-source", "unknown-lot", "bad-content", "unknown-charge", "unknown-vessel"];
                let more = [
                    "unknown-instrument",
                    "unknown-reading",
                    "unknown-step",
                    "corrections-in-a-ring",
                    "price-without-pack",
                    "attended-without-duration",
                ];
                let errors = told.iter().filter(|f| f.severity == Severity::Error);
                let here = errors.filter(|f| f.span.as_ref().is_some_and(|s| s.start >= from));
                let complaints: Vec<_> = here.filter(|f| !other.contains(&f.code) && !more.contains(&f.code)).collect();
                assert!(complaints.is_empty(), "`{}` of `{}`: {complaints:?}", field.key, table.key);
            }
        }
    }

    /// Whether a value is text, a list or a table is what the readers think.
    #[test]
    fn kinds_are_those_of_the_readers() {
        for table in TABLES {
            for field in table.fields {
                let (number, list, inline) = match field.kind {
                    Kind::Texts
                    | Kind::Elements
                    | Kind::SpeciesList
                    | Kind::Patterns
                    | Kind::Reactions
                    | Kind::Quantities(_) => (false, true, false),
                    Kind::Amounts | Kind::Parts | Kind::Foreign | Kind::Traces | Kind::Shares | Kind::Inline(_) => {
                        (false, false, true)
                    }
                    // Tables are a list of tables; an empty list is none.
                    Kind::Tables(_) => (false, true, false),
                    _ => (false, false, false),
                };
                for (value, accepted) in [("7", number), ("[]", list), ("{ }", inline)] {
                    let told = findings(&file_with(table, &format!("{} = {value}", field.key)));
                    let refused = told.iter().any(|f| f.code == "wrong-kind" && f.message.contains(field.key));
                    assert_eq!(!refused, accepted, "`{}` of `{}` as {value}: {told:?}", field.key, table.key);
                }
            }
        }
    }

    #[test]
    fn every_field_is_explained_in_a_line() {
        for field in TABLES.iter().flat_map(|table| table.fields) {
            assert!((4..=70).contains(&field.about.chars().count()), "{}: {}", field.key, field.about);
            let (kind, text) = (field.kind, field.example.trim_matches('"'));
            if field.example.starts_with('"') {
                assert_eq!(crate::spelling::spelled(kind, text), text, "an example is spelled as a tidy file has it");
            }
            assert!(!field.about.ends_with('.') && !field.about.contains('\n'), "{}", field.about);
            assert_eq!(field.example.is_empty(), matches!(field.kind, Kind::Tables(_)), "{}", field.key);
        }
    }
}
