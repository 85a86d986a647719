//! A short hand for small preparations: shelf, steps, jars, target, and what must come of them.
//!
//! ```text
//! supply  name: formula [strength %]
//! step    action [temperature °C] [atmosphere] [removes mass] [crystals formula]: takes [reactions] [may formulas] -> lots
//! jar     name: formulas <- lots
//! ```

use prep::outcome::{Finding, Severity};

/// One preparation.
pub struct Case {
    pub name: &'static str,
    pub supplies: &'static [&'static str],
    pub steps: &'static [&'static str],
    pub waste: &'static [&'static str],
    pub target: &'static str,
    pub expect: Expect,
}

/// A single question.
#[derive(Clone, Copy, Debug)]
pub enum Ask {
    Formula(&'static str),
    Reaction(&'static str),
    Label(&'static str),
    Titrate(&'static str),
    Dry(&'static str),
}

/// What must come of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Expect {
    /// A caution with this word.
    Flag(&'static str),
    /// A refusal with this word.
    Refused(&'static str),
    /// Either.
    FlagOrRefused(&'static str),
    /// No weighing list, and a caution with this word.
    Withheld(&'static str),
    /// No caution.
    Harmless,
}

/// What came of it.
pub struct Outcome {
    pub refusals: Vec<String>,
    pub cautions: Vec<String>,
    pub weighing_list: bool,
}

impl Outcome {
    /// What is wrong with it; nothing where it is as expected.
    pub fn complaint(&self, expect: Expect) -> Option<String> {
        let flagged = |word: &str| self.cautions.iter().any(|c| c.to_lowercase().contains(word));
        let refused = |word: &str| self.refusals.iter().any(|r| r.to_lowercase().contains(word));
        let good = match expect {
            Expect::Flag(word) => flagged(word) && self.refusals.is_empty(),
            Expect::Refused(word) => refused(word),
            Expect::FlagOrRefused(word) => flagged(word) || refused(word) || !self.refusals.is_empty(),
            Expect::Withheld(word) => flagged(word) && self.refusals.is_empty() && !self.weighing_list,
            Expect::Harmless => self.cautions.is_empty() && self.refusals.is_empty() && self.weighing_list,
        };
        (!good).then(|| format!("{expect:?}, but refused {:?}, cautioned {:?}", self.refusals, self.cautions))
    }
}

fn sorted(findings: &[Finding]) -> (Vec<String>, Vec<String>) {
    let of = |wanted: &dyn Fn(&Finding) -> bool| {
        findings.iter().filter(|f| wanted(f)).map(|f| format!("{}: {}", f.code, f.message)).collect::<Vec<_>>()
    };
    let refusals = of(&|f| f.code == prep::screen::OUT_OF_BOUNDS);
    (refusals, of(&|f| f.severity == Severity::Caution))
}

impl Case {
    /// The file.
    pub fn text(&self) -> String {
        let mut text = format!("title = \"{}\"\n", self.name);
        if !self.target.is_empty() {
            let metal = self.target.split('(').next().unwrap_or("");
            if metal.len() <= 2 {
                text += &format!("account_for = \"{metal}\"\n");
            }
            text += &format!("target = {{ substance = \"{}\" }}\n", self.target);
        }
        for supply in self.supplies {
            let (name, rest) = supply.split_once(": ").expect("name: formula");
            let (formula, strength) = rest.split_once(' ').map_or((rest, None), |(f, s)| (f, Some(s)));
            text += &format!("[[supply]]\nname = \"{name}\"\nholds = \"{formula}\"\n");
            if let Some(strength) = strength {
                let key = if formula.contains("(aq)") || formula.contains("(l)") { "strength" } else { "assay" };
                text += &format!("{key} = \"{strength}\"\n");
            }
        }
        for (i, step) in self.steps.iter().enumerate() {
            text += &step_text(i, step);
        }
        for jar in self.waste {
            let (name, rest) = jar.split_once(": ").expect("name: formulas");
            let (holds, takes) = rest.split_once(" <- ").expect("formulas <- lots");
            text += &format!("[[waste]]\nname = \"{name}\"\nholds = {}\ntakes = {}\n", list(holds), list(takes));
        }
        text
    }

    /// What the program says.
    pub fn run(&self) -> Outcome {
        let text = self.text();
        let reading = prep::read(text.as_bytes());
        let (refusals, mut cautions) = sorted(&reading.findings);
        let mut weighing_list = false;
        match &reading.preparation {
            Some(preparation) => {
                let plan = prep::plan(preparation);
                cautions.extend(sorted(&plan.findings).1);
                weighing_list = !plan.weigh_out.is_empty();
            }
            None => assert!(!refusals.is_empty(), "{}: {:#?}\n{text}", self.name, reading.findings),
        }
        Outcome { refusals, cautions, weighing_list }
    }
}

fn list(texts: &str) -> String {
    let quoted: Vec<String> = texts.split(", ").filter(|t| !t.is_empty()).map(|t| format!("\"{t}\"")).collect();
    format!("[{}]", quoted.join(", "))
}

fn step_text(i: usize, step: &str) -> String {
    let (before, lots) = step.rsplit_once(" -> ").expect("-> lots");
    let (head, body) = before.split_once(": ").expect("action: takes");
    let mut text = format!("[[step]]\nname = \"step {}\"\n", i + 1);
    text += &head_text(head);
    let (body, may) = body.split_once(" may ").map_or((body, None), |(b, m)| (b, Some(m)));
    let (takes, reactions) = body.split_once(" [").map_or((body, None), |(t, r)| (t, Some(r.trim_end_matches(']'))));
    let takes: Vec<String> = takes
        .split(", ")
        .map(|take| {
            if let Some(lot) = take.strip_suffix(" all") {
                return format!("\"{lot}\" = \"all\"");
            }
            let words: Vec<&str> = take.rsplitn(3, ' ').collect();
            format!("\"{}\" = \"{} {}\"", words[2], words[1], words[0])
        })
        .collect();
    text += &format!("take = {{ {} }}\n", takes.join(", "));
    if let Some(reactions) = reactions {
        text += &format!("reaction = {}\n", list(&reactions.replace("; ", ", ")));
    }
    if let Some(may) = may {
        text += &format!("may_hold = {}\n", list(may));
    }
    let gives: Vec<String> = lots
        .split(", ")
        .map(|lot| match lot.split_once('=') {
            Some((lot, part)) => format!("\"{lot}\" = \"{part}\""),
            None => format!("\"{lot}\" = \"all\""),
        })
        .collect();
    text + &format!("gives = {{ {} }}\n", gives.join(", "))
}

fn head_text(head: &str) -> String {
    let mut rest = head.to_owned();
    let mut text = String::new();
    if let Some((action, formula)) = head.split_once(" crystals ") {
        text += &format!("crystals = \"{formula}\"\nconversion = \"50 %\"\n");
        rest = action.to_owned();
    }
    if let Some((action, mass)) = rest.clone().split_once(" removes ") {
        text += &format!("removes = \"{mass}\"\n");
        rest = action.to_owned();
    }
    for atmosphere in ["own gas", "hydrogen", "carbon monoxide", "nitrogen", "air"] {
        if let Some(action) = rest.clone().strip_suffix(&format!(" {atmosphere}")) {
            text += &format!("atmosphere = \"{atmosphere}\"\n");
            rest = action.to_owned();
        }
    }
    if let Some(action) = rest.clone().strip_suffix(" °C") {
        let (action, degrees) = action.rsplit_once(' ').expect("a temperature");
        text += &format!("temperature = \"{degrees} °C\"\n");
        rest = action.to_owned();
    }
    format!("action = \"{rest}\"\n{text}")
}

impl Ask {
    /// What the program says.
    pub fn run(self) -> Outcome {
        use prep::ask::{DryOptions, Titration};
        let findings = match self {
            Ask::Formula(text) => prep::ask::formula(text).err().unwrap_or_default(),
            Ask::Reaction(text) => prep::ask::reaction(text).map_or_else(|f| f, |a| a.findings),
            Ask::Label(text) => prep::ask::label(text).findings,
            Ask::Titrate(of) => {
                let asked = Titration {
                    titres: &["25.00 mL"],
                    titrant: Some("0.1 mol/L"),
                    of: Some(of),
                    ..Titration::default()
                };
                prep::ask::titrate(&asked).err().unwrap_or_default()
            }
            Ask::Dry(of) => {
                let options = DryOptions { of: Some(of), ..DryOptions::default() };
                prep::ask::dry(&["10.00 g", "9.50 g", "9.40 g", "9.39 g"], &options).err().unwrap_or_default()
            }
        };
        let (refusals, cautions) = sorted(&findings);
        Outcome { refusals, cautions, weighing_list: true }
    }
}
