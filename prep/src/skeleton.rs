//! What does the file of a new preparation look like?
//!
//! What is known is stated; every other field stands there as a remark with an example and what it says, once for each
//! kind of table, from the lists in [`crate::fields`]. The first step and its reading are there to be changed. A draft
//! is checked by the readers of the file: it is written and read.

use crate::edit::Entry;
use crate::fields::{self, Kind, Table};
use crate::model::WATER;
use crate::outcome::{Finding, Severity};
use crate::{edit, tidy};
use chem::{Dimension, Element, Quantity, Species};
use std::fmt::Write as _;

/// What is known of a new preparation.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Draft {
    /// Title.
    pub title: Option<String>,
    /// What is to be made: a formula with its phase.
    pub target: Option<String>,
    /// How much of it.
    pub amount: Option<String>,
    /// Element to be accounted for; that of the target if not given.
    pub element: Option<String>,
    /// What is on the shelf.
    pub supplies: Vec<DraftSupply>,
    /// Step of the balance's display.
    pub balance: Option<String>,
}

/// A supply of a draft.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DraftSupply {
    /// What the steps call it.
    pub name: String,
    /// What the label says.
    pub label: Option<String>,
    /// What it holds, or may hold.
    pub holds: Vec<String>,
    /// Assay, or strength of a solution.
    pub content: Option<String>,
    /// Density of a solution.
    pub density: Option<String>,
}

/// How a supply is written in one line.
pub const SUPPLY_FORM: &str = "NAME, FORMULA [or FORMULA ...] [, CONTENT [, DENSITY]]";

impl DraftSupply {
    /// Reads `bluestone, CuSO4·5H2O(s), >= 98 %`: name, formula or several with `or` between them, content, density. A
    /// comma without a space behind it is a decimal comma.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.split(", ").map(str::trim);
        let mut next = || parts.next().filter(|part| !part.is_empty()).map(str::to_owned);
        let (name, holds) = (next()?, next()?);
        let (content, density) = (next(), next());
        let holds = holds.split(" or ").map(|formula| formula.trim().to_owned()).collect();
        parts.next().is_none().then_some(Self { name, label: None, holds, content, density })
    }

    /// Whether it is a solution.
    fn is_solution(&self) -> bool {
        let Some(content) = &self.content else { return false };
        let by_volume = Quantity::parse(content).is_ok_and(|q| q.dimension() != Dimension::DIMENSIONLESS);
        by_volume || self.density.is_some() || ["w/w", "w/v"].iter().any(|mark| content.trim().ends_with(mark))
    }

    fn entries(&self) -> Vec<(&'static str, Entry)> {
        let mut entries: Vec<(&str, Entry)> = vec![("name", self.name.as_str().into())];
        entries.extend(self.label.as_deref().map(|label| ("label", label.into())));
        entries.push(match self.holds.as_slice() {
            [one] => ("holds", one.as_str().into()),
            several => ("holds", Entry::Texts(several.to_vec())),
        });
        let key = if self.is_solution() { "strength" } else { "assay" };
        entries.extend(self.content.as_deref().map(|content| (key, content.into())));
        entries.extend(self.density.as_deref().map(|density| ("density", density.into())));
        entries
    }
}

/// Name of the balance of a new file.
const BALANCE: &str = "balance";
/// Title of a draft without one.
pub const TITLE: &str = "New preparation";
/// Step of a balance's display, if nothing else is known.
pub const RESOLUTION: &str = "0.01 g";

impl Draft {
    /// The supplies, or one that stands for them.
    fn supplies(&self) -> Vec<DraftSupply> {
        if !self.supplies.is_empty() {
            return self.supplies.clone();
        }
        let of_element = self.element.as_ref().map(|symbol| format!("{}(s)", symbol.trim()));
        let holds = of_element.or_else(|| self.target.clone()).unwrap_or_else(|| "CuSO4·5H2O(s)".to_owned());
        vec![DraftSupply { name: "starting material".to_owned(), holds: vec![holds], ..DraftSupply::default() }]
    }

    /// The element that is accounted for: the stated one, or the first of the target, or of the supplies, that is not
    /// hydrogen, carbon or oxygen and that a supply holds.
    #[must_use]
    pub fn element(&self) -> Option<String> {
        if let Some(element) = &self.element {
            return Some(element.trim().to_owned());
        }
        let held: Vec<Species> =
            self.supplies().iter().flat_map(|s| &s.holds).filter_map(|t| Species::parse(t).ok()).collect();
        let target = self.target.as_deref().and_then(|text| Species::parse(text).ok());
        let wanted = target.iter().chain(&held).flat_map(|species| written_order(&species.formula));
        let counts = |element: &Element| !matches!(element.symbol(), "H" | "C" | "O");
        let is_held = |element: &Element| held.iter().any(|species| species.formula.mass_fraction(*element) > 0.0);
        wanted.filter(counts).find(is_held).map(|element| element.symbol().to_owned())
    }

    /// Errors of the file that this draft makes.
    #[must_use]
    pub fn faults(&self) -> Vec<Finding> {
        let findings = crate::read(self.text().as_bytes()).findings;
        findings.into_iter().filter(|finding| finding.severity == Severity::Error).collect()
    }

    /// The file of this draft, in its tidy layout.
    ///
    /// ```
    /// use prep::skeleton::{Draft, DraftSupply};
    /// let zinc = DraftSupply::parse("zinc sulfate, ZnSO4·7H2O(s), >= 99 %").ok_or("not understood")?;
    /// let draft = Draft { supplies: vec![zinc], target: Some("ZnO(s)".to_owned()), ..Draft::default() };
    /// let text = draft.text();
    /// assert!(text.contains("account_for = \"Zn\"") && prep::read(text.as_bytes()).findings.is_empty());
    /// # Ok::<(), &str>(())
    /// ```
    #[must_use]
    pub fn text(&self) -> String {
        let text = self.written();
        // With errors it stays as it is; they are told.
        tidy(text.as_bytes()).unwrap_or(text)
    }

    fn written(&self) -> String {
        let mut text = HEAD.to_owned();
        table(&mut text, &fields::FILE, &self.head(), true);
        let supplies = self.supplies();
        for (i, supply) in supplies.iter().enumerate() {
            text.push('\n');
            if self.supplies.is_empty() {
                text += "# It stands for what is on the shelf: write what the label says.\n";
            }
            table(&mut text, &fields::SUPPLY, &supply.entries(), i == 0);
        }
        let resolution = self.balance.as_deref().unwrap_or(RESOLUTION);
        let balance = [("name", BALANCE.into()), ("kind", "balance".into()), ("resolution", resolution.into())];
        text.push('\n');
        table(&mut text, &fields::INSTRUMENT, &balance, true);
        let source = supplies.iter().map(|s| s.name.as_str()).find(|name| *name != WATER);
        text.push('\n');
        table(&mut text, &fields::STEP, &step(source), true);
        text.push('\n');
        table(&mut text, &fields::READING, &reading(source), true);
        text
    }

    fn head(&self) -> Vec<(&'static str, Entry)> {
        let mut head: Vec<(&str, Entry)> = vec![("title", self.title.as_deref().unwrap_or(TITLE).into())];
        let mut target: Vec<(String, String)> = Vec::new();
        target.extend(self.target.iter().map(|formula| ("substance".to_owned(), formula.clone())));
        target.extend(self.amount.iter().map(|amount| ("amount".to_owned(), amount.clone())));
        if !target.is_empty() {
            head.push(("target", Entry::Pairs(target)));
        }
        head.extend(self.element().map(|element| ("account_for", element.as_str().into())));
        head
    }
}

/// What stands at the top of a new file.
const HEAD: &str = "\
# What follows a # is a remark. A field in a remark is not stated: take the # away and write your own figures.
# `tarebook check` reads the file, `tarebook plan` says what to weigh out, `tarebook fields` lists all fields.

";

/// Elements of a formula in the order in which they are written.
fn written_order(formula: &chem::Formula) -> Vec<Element> {
    let text = formula.text();
    let place = |element: &Element| text.find(element.symbol()).unwrap_or(usize::MAX);
    let mut elements: Vec<Element> = formula.elements().map(|(element, _)| element).collect();
    elements.sort_by_key(place);
    elements
}

fn pairs(list: &[(&str, &str)]) -> Entry {
    Entry::Pairs(list.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect())
}

/// A first step to begin with.
fn step(source: Option<&str>) -> Vec<(&'static str, Entry)> {
    let mut take = Vec::new();
    take.extend(source.map(|name| (name, "10.0 g")));
    take.push((WATER, "100 g"));
    vec![
        ("name", "dissolve".into()),
        ("action", "dissolve".into()),
        ("take", pairs(&take)),
        ("gives", pairs(&[("liquor", "all")])),
    ]
}

/// Its first reading, not yet read.
fn reading(source: Option<&str>) -> Vec<(&'static str, Entry)> {
    vec![("id", "r1".into()), ("charge", source.unwrap_or(WATER).into()), ("with", BALANCE.into())]
}

/// Writes a table; with `taught`, what each field says and the fields that are not stated.
fn table(text: &mut String, of: &'static Table, entries: &[(&'static str, Entry)], taught: bool) {
    let (header, indent) = match of.key {
        "" => (None, ""),
        "reading" => (Some("step.reading"), "  "),
        key => (Some(key), ""),
    };
    if let Some(header) = header {
        if taught {
            let _ = writeln!(text, "{indent}# {}", of.about);
        }
        let _ = writeln!(text, "{indent}[[{header}]]");
    }
    let width = entries.iter().map(|(key, _)| key.len()).max().unwrap_or(0);
    for (key, entry) in entries {
        // What does not fit its field is written as text, and told by the reader.
        let value = edit::value_of(of, key, entry).unwrap_or_else(|_| "\"\"".to_owned());
        let _ = write!(text, "{indent}{key:width$} = {value}");
        if let Some(field) = of.field(key).filter(|_| taught) {
            let _ = write!(text, "   # {}", field.about);
        }
        text.push('\n');
    }
    let open = of.fields.iter().filter(|field| taught && !matches!(field.kind, Kind::Tables(_)));
    let open: Vec<_> = open.filter(|field| entries.iter().all(|(key, _)| *key != field.key)).collect();
    let width = open.iter().map(|field| field.key.len()).max().unwrap_or(0);
    for field in open {
        let _ = writeln!(text, "{indent}# {:width$} = {}   # {}", field.key, field.example, field.about);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn supply(text: &str) -> DraftSupply {
        DraftSupply::parse(text).unwrap_or_else(|| panic!("{text}"))
    }

    fn is_good(draft: &Draft) {
        let text = draft.text();
        assert_eq!(draft.faults(), Vec::new(), "{text}");
        let reading = crate::read(text.as_bytes());
        let plan = crate::plan(&reading.preparation.expect("it can be read"));
        assert!(plan.findings.iter().all(|finding| finding.severity != Severity::Error), "{:?}", plan.findings);
        assert_eq!(tidy(text.as_bytes()).expect("it can be read"), text);
    }

    #[test]
    fn a_draft_of_nothing_is_good_and_teaches_every_field() {
        let draft = Draft::default();
        is_good(&draft);
        let text = draft.text();
        for table in [&fields::FILE, &fields::SUPPLY, &fields::INSTRUMENT, &fields::STEP, &fields::READING] {
            for field in table.fields.iter().filter(|field| !field.example.is_empty()) {
                let stated = |line: &str| {
                    let line = line.trim_start().trim_start_matches("# ");
                    line.split(" = ").next().is_some_and(|key| key.trim() == field.key) && line.ends_with(field.about)
                };
                assert!(text.lines().any(stated), "`{}` is not taught in\n{text}", field.key);
            }
        }
    }

    #[test]
    fn what_is_known_is_stated() {
        let draft = Draft {
            title: Some("Zinc \"white\"".to_owned()),
            target: Some("ZnO(s)".to_owned()),
            amount: Some("25 g".to_owned()),
            supplies: vec![
                supply("vitriol, ZnSO4.7H2O(s) or ZnSO4·6H2O(s), 99,0 .. 100 %"),
                supply("muriatic acid, HCl(aq), 36 % w/w, 1.18 g/mL"),
                supply("water, H2O(l)"),
            ],
            balance: Some("0,1 g".to_owned()),
            ..Draft::default()
        };
        is_good(&draft);
        let read = crate::read(draft.text().as_bytes()).preparation.expect("good");
        assert_eq!((read.title(), read.account_for[0].symbol()), ("Zinc \"white\"", "Zn"));
        assert_eq!(read.supplies.iter().map(|s| s.holds.len()).collect::<Vec<_>>(), [2, 1, 1]);
        assert!(read.supplies[1].solution && !read.supplies[0].solution);
        assert!((read.instruments[0].resolution - 1e-4).abs() < 1e-12);
        assert!(draft.text().contains("assay = \"99.0 .. 100.0 %\""), "{}", draft.text());
        for (target, element) in [("CuO(s)", None), ("ZnO(s)", Some("Zn")), ("MgO(s)", Some("Cu"))] {
            let draft =
                Draft { target: Some(target.to_owned()), element: element.map(str::to_owned), ..Draft::default() };
            is_good(&draft);
        }
    }

    #[test]
    fn a_slip_is_told_by_the_readers() {
        let slip = |draft: Draft| draft.faults().into_iter().map(|f| f.code).collect::<Vec<_>>();
        let one = |text: &str| Draft { supplies: vec![supply(text)], ..Draft::default() };
        assert_eq!(slip(one("salt, Xx2(s)")), ["bad-formula"]);
        assert_eq!(slip(one("salt, NaCl")), ["missing-phase"]);
        assert_eq!(slip(one("salt, NaCl(s), 120 %")), ["out-of-range"]);
        assert_eq!(slip(one("acid, HCl(aq), 2 mol/L")), ["bad-strength"]);
        assert_eq!(slip(Draft { element: Some("Cu".to_owned()), ..one("salt, NaCl(s)") }), ["element-not-supplied"]);
        assert_eq!(slip(Draft { balance: Some("0.01".to_owned()), ..Draft::default() }), ["wrong-dimension"]);
        assert_eq!(slip(Draft { title: Some(" ".to_owned()), ..Draft::default() }), ["empty-text"]);
        assert_eq!(slip(Draft { amount: Some("5 g".to_owned()), ..Draft::default() }), ["missing-field"]);
        assert_eq!((DraftSupply::parse("salt"), DraftSupply::parse("a, b, c, d, e")), (None, None));
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

        /// Whatever is answered: a file without errors, or the errors.
        #[test]
        fn any_answers(title in "\\PC{0,20}", name in "\\PC{0,12}", holds in "[A-Za-z0-9()·. ]{0,12}", content in "\\PC{0,8}") {
            let supply = DraftSupply { name, holds: vec![holds], content: Some(content), ..DraftSupply::default() };
            let draft = Draft { title: Some(title), supplies: vec![supply], ..Draft::default() };
            let reading = crate::read(draft.text().as_bytes());
            prop_assert_eq!(reading.preparation.is_some(), draft.faults().is_empty());
            prop_assert!(reading.findings.iter().all(|finding| finding.code != "toml-syntax"), "{:?}", reading.findings);
        }
    }
}
