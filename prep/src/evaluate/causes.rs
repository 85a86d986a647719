//! Which single cause would make a mass that is more than the supplies can give, and how much of it is needed?
//!
//! Each cause is taken alone and worked out by exact proportions: water, another form of the element that has not
//! become the claimed one, a salt from the liquor, a supply richer than it was taken for. Forms come from the file and
//! from the table of substances; nothing is known here of any particular element. An amount reaches from what is
//! needed at the richest reading of the supplies to what is needed at the poorest. Two causes at once need less of
//! each; how probable each is, [`super::explain`] asks. A form that could not make the excess even if it were the whole lot is
//! left out.
//!
//! Source: conservation of the element; molar masses as everywhere.

use super::compile::{Compiled, LotKind, soluble};
use super::direct::{self, FeedPart, LabelFeed};
use super::table::{SpeciesTable, exchanged};
use crate::action::Heat;
use crate::bench_test::burns_away;
use crate::model::{Preparation, Step};
use crate::outcome::{Cause, Figure, Interval};
use chem::formula::to_f64;
use chem::quantity::Status;
use chem::reaction::conversion;
use chem::substance::Substance;
use chem::{Element, Formula, Phase, Species};

/// Excess mass relative to the claimed form below which two forms count as equally heavy.
const SAME: f64 = 1e-9;
/// Most lower hydrates that one cause names.
const MOST_HYDRATES: usize = 3;

/// A mass that is more than can be.
pub(super) struct Surplus<'a> {
    pub preparation: &'a Preparation,
    pub table: &'a SpeciesTable,
    pub compiled: &'a Compiled,
    /// Step that gave the lot.
    pub step: usize,
    /// What the lot was taken for.
    pub claim: &'a Species,
    /// Element that is accounted for.
    pub element: Element,
    /// Mass of the lot, kg.
    pub mass: f64,
    /// Its standard uncertainty, kg.
    pub uncertainty: f64,
    pub feed: &'a LabelFeed,
}

impl Surplus<'_> {
    /// Share of the element in what the lot was taken for.
    fn claimed(&self) -> f64 {
        self.claim.formula.mass_fraction(self.element)
    }

    /// Whether the lot is heavier than the richest plausible reading of the supplies allows.
    pub fn is_impossible(&self) -> bool {
        self.mass - self.feed.most / self.claimed() > 2.0 * self.uncertainty
    }

    /// Whether the lot is heavier than the labels let expect.
    pub fn is_beyond_label(&self) -> bool {
        let content = self.claimed();
        let doubt = self.feed.standard_uncertainty / content + 2.0 * self.uncertainty;
        self.mass - self.feed.stated / content > doubt
    }

    /// Whether causes speak of the mass: where the file allows several forms of the element, its compositions speak of a
    /// mass that is possible.
    pub fn speaks(&self) -> bool {
        let of = |pattern: &chem::SpeciesPattern| pattern.species().formula.mass_fraction(self.element) > 0.0;
        let forms = self.preparation.steps[self.step].may_hold.iter().filter(|p| of(&p.value)).count();
        forms < 2 || self.is_impossible()
    }

    /// All single causes, any foreign matter first, then water, other forms, salts, supplies; with what each makes.
    pub fn causes(&self) -> Vec<(Cause, Option<Makes>)> {
        let any = Cause {
            cause: "foreign matter of any kind".to_owned(),
            needs: Some(self.grams(|s| s.excess)),
            probability: None,
            predicts: Vec::new(),
        };
        let mut list = vec![(any, None), (self.water(), Some(Makes::Water))];
        list.extend(self.forms().into_iter().filter_map(|form| {
            let cause = self.other_form(&form)?;
            let kind = self.kind_of(&form).unwrap_or("other form");
            Some((cause, Some(Makes::Form(form, kind))))
        }));
        list.extend(self.salts().into_iter().filter_map(|salt| Some((self.salt(&salt)?, Some(self.salt_makes(salt))))));
        for part in &self.feed.parts {
            list.extend(self.richer(part).into_iter().map(|cause| (cause, Some(Makes::Richer(part.supply.clone())))));
        }
        list
    }

    /// Everything that could change the mass either way, each alone.
    pub fn makes(&self) -> Vec<Makes> {
        let mut list = vec![Makes::Water];
        let forms = self.forms().into_iter().filter_map(|form| {
            let kind = self.kind_of(&form)?;
            Some(Makes::Form(form, kind))
        });
        list.extend(forms);
        list.extend(self.salts().into_iter().map(|salt| self.salt_makes(salt)));
        list.extend(self.feed.parts.iter().map(|part| Makes::Richer(part.supply.clone())));
        list.extend([Makes::Poorer, Makes::Lost]);
        list
    }

    fn salt_makes(&self, salt: Species) -> Makes {
        if self.content(&salt) > 0.0 { Makes::Form(salt, "unconverted") } else { Makes::Salt(salt) }
    }

    /// Whether hot water takes a species out: it stands in a liquor of the preparation.
    pub fn dissolves(&self, species: &Species) -> bool {
        soluble(self.table, species)
    }

    /// What a form of the element is beside the claimed one, by the gases it gives off or takes up on its way there;
    /// `None` if it cannot become it.
    fn kind_of(&self, form: &Species) -> Option<&'static str> {
        let step = self.preparation.steps.get(self.step)?;
        let gases: Vec<(Species, f64)> = match self.table.known_conversion(form, self.claim, step.atmosphere) {
            Some(known) => known?.gases.iter().map(|(gas, n)| (self.table.species(*gas).clone(), *n)).collect(),
            None => conversion(form, self.claim, &exchanged(step.atmosphere))?
                .into_iter()
                .filter(|(species, _)| species.phase == Some(Phase::Gas))
                .map(|(gas, n)| (gas, to_f64(n)))
                .collect(),
        };
        let gas = |text: &str| gases.iter().find(|(s, _)| s.formula.text() == text).map_or(0.0, |(_, n)| *n);
        // What takes up a gas on its way is a metal or a lower oxide; an organic salt would burn.
        let uptake = gases.iter().any(|(_, n)| *n < 0.0);
        let bare = form.formula.elements().all(|(e, _)| e == self.element || e.symbol() == "O");
        if uptake && !bare {
            return None;
        }
        Some(match (gas("H2O") > 0.0, gas("CO2") > 0.0) {
            (_, true) => "carbonate",
            (true, false) if *form.formula.hydrate_water().numer() > 0 => "hydrate",
            (true, false) => "hydroxide",
            (false, false) => "other form",
        })
    }

    fn content(&self, species: &Species) -> f64 {
        species.formula.mass_fraction(self.element)
    }

    /// The excess and the most of the claimed form for each reading of the supplies: richest, mean, poorest.
    fn cases(&self) -> [Case; 3] {
        let content = self.content(self.claim);
        [self.feed.most, self.feed.mean, self.feed.least].map(|element| {
            let possible = element / content;
            Case { possible, excess: self.mass - possible }
        })
    }

    /// An amount in grams, from kg in each case.
    fn grams(&self, of: impl Fn(&Case) -> f64) -> Interval {
        self.interval("g", None, |case| of(case) * 1e3)
    }

    fn interval(&self, unit: &'static str, basis: Option<String>, of: impl Fn(&Case) -> f64) -> Interval {
        spread(self.cases().map(|case| of(&case)), unit, basis)
    }

    fn heat(&self) -> Heat {
        self.preparation.steps.get(self.step).map_or(Heat::None, |step| step.action.value.manner().heat)
    }

    /// A loss of `mass` from the lot, as a percentage of it.
    fn share(&self, name: &'static str, mass: f64) -> (&'static str, Figure) {
        (name, predicted(100.0 * mass / self.mass, "%", "mass of the lot as weighed"))
    }

    fn water(&self) -> Cause {
        let excess = self.cases()[0].excess;
        Cause {
            cause: "water, not driven off or taken up again".to_owned(),
            needs: Some(self.grams(|case| case.excess)),
            probability: None,
            predicts: vec![self.share("loss_on_heating", excess), self.share("loss_on_leaching", 0.0)],
        }
    }

    /// Forms of the element that the lot might still hold: those of the file, then those of the table.
    fn forms(&self) -> Vec<Species> {
        let mut own: Vec<Species> = Vec::new();
        for step in &self.preparation.steps {
            own.extend(step.may_hold.iter().flat_map(|p| direct::members(&p.value).into_iter().map(|(_, s)| s)));
            own.extend(step.reactions.iter().flat_map(|r| r.value.species.iter().cloned()));
        }
        own.retain(|s| s.phase == Some(Phase::Solid));
        let hot = self.heat() == Heat::Fire;
        // What was ignited holds no crystal water of a table's making.
        let sold = Substance::all().iter().map(|s| &s.formula).filter(|f| !hot || *f.hydrate_water().numer() == 0);
        let sold = sold.map(|formula| Species::new(formula.clone(), Some(Phase::Solid)));
        let mut forms: Vec<Species> = Vec::new();
        for form in own.into_iter().chain(sold) {
            let known = forms.iter().any(|f| f.formula.same_substance(&form.formula));
            let same = form.formula.same_substance(&self.claim.formula);
            if self.content(&form) > 0.0 && !known && !same {
                forms.push(form);
            }
        }
        forms
    }

    /// Share of the element that must be there as another form, and the mass of that form, kg.
    fn needed(&self, form: &Species, case: &Case) -> (f64, f64) {
        let heavier = self.content(self.claim) / self.content(form) - 1.0;
        let share = case.excess / (case.possible * heavier);
        // The mass does not hang on how much of the element there is.
        (share, case.excess / heavier * self.content(self.claim) / self.content(form))
    }

    /// A form that gives off gas on its way to the claimed one.
    fn other_form(&self, form: &Species) -> Option<Cause> {
        let step = self.preparation.steps.get(self.step)?;
        let terms = conversion(form, self.claim, &exchanged(step.atmosphere))?;
        let gas = |text: &str| {
            let moles = terms.iter().find(|(s, _)| s.phase == Some(Phase::Gas) && s.formula.text() == text);
            moles.map_or(0.0, |(_, n)| to_f64(*n))
        };
        let (water, dioxide, oxygen) = (gas("H2O"), gas("CO2"), gas("O2"));
        let others = terms.iter().filter(|(s, n)| s.phase == Some(Phase::Gas) && to_f64(*n) < 0.0).count();
        if others > 0 {
            return None;
        }
        let richest = self.cases()[0];
        let (share, mass) = self.plausible(form, &richest)?;
        let left = match (water > 0.0, dioxide > 0.0, *form.formula.hydrate_water().numer() > 0) {
            (true, false, true) => "a hydrate left or formed again",
            (true, false, false) => "hydroxide left or formed again",
            (false, true, _) => "carbonate left, or carbon dioxide taken up",
            (true, true, _) => "basic carbonate left or formed again",
            (false, false, _) if oxygen > 0.0 => "a higher oxide",
            (false, false, _) => "another form left",
        };
        let loss = if oxygen > 0.0 { 0.0 } else { richest.excess };
        let mut predicts = vec![self.share("loss_on_heating", loss), self.share("loss_on_leaching", 0.0)];
        let molar_mass = form.formula.molar_mass().ok()?.value;
        let freed = Formula::parse("CO2").ok()?.molar_mass().ok()?.value * carbon(&form.formula) * mass / molar_mass;
        let freed = predicted(freed / self.mass * 1e3, "mg/g", "mass of the lot as weighed");
        predicts.push(("carbon_dioxide_with_acid", freed));
        Some(Cause {
            cause: format!("{left}: {form}, at least {:.1} % of the {}", 100.0 * share, self.element.symbol()),
            needs: Some(self.interval("g", Some(form.to_string()), |case| self.needed(form, case).1 * 1e3)),
            probability: None,
            predicts,
        })
    }

    /// What a form needs, if it is heavier than the claimed one and enough of the element is there.
    fn plausible(&self, form: &Species, richest: &Case) -> Option<(f64, f64)> {
        let (share, mass) = self.needed(form, richest);
        let heavier = self.content(self.claim) / self.content(form) - 1.0;
        (heavier > SAME && share > 0.0 && share <= 1.0).then_some((share, mass))
    }

    /// Salts of the liquors that the lot, or what it came from, was parted from; and such as the step names itself.
    fn salts(&self) -> Vec<Species> {
        let mut salts: Vec<Species> = Vec::new();
        let mut add = |formula: &Formula| {
            let neutral = formula.charge() == 0 && !formula.same_substance(&Formula::water());
            if neutral && !salts.iter().any(|s| s.formula.same_substance(formula)) {
                salts.push(Species::new(formula.clone(), Some(Phase::Solid)));
            }
        };
        let step: Option<&Step> = self.preparation.steps.get(self.step);
        let listed = step.into_iter().flat_map(|s| &s.may_hold).map(|p| p.value.species());
        listed.filter(|s| self.content(s) == 0.0 && !is_water(s)).for_each(|s| add(&s.formula));
        let hot = self.heat() == Heat::Fire;
        let liquors = self.compiled.lots.iter().filter(|l| l.kind == LotKind::Liquor && l.step <= self.step);
        let held = liquors.flat_map(|l| &l.contents).filter(|s| !self.table.is_sparing(**s));
        for species in held.map(|s| self.table.species(*s)) {
            if species.phase == Some(Phase::Aqueous) && !(hot && burns_away(&species.formula)) {
                add(&species.formula);
            }
        }
        salts
    }

    fn salt(&self, salt: &Species) -> Option<Cause> {
        let richest = self.cases()[0];
        let (words, mass, needs) = if self.content(salt) > 0.0 {
            let (share, mass) = self.plausible(salt, &richest)?;
            let words =
                format!("salt left unconverted: {salt}, at least {:.1} % of the {}", 100.0 * share, self.element);
            (words, mass, self.interval("g", Some(salt.to_string()), |case| self.needed(salt, case).1 * 1e3))
        } else {
            let needs = self.interval("g", Some(salt.to_string()), |case| case.excess * 1e3);
            (format!("salt of the liquor held or occluded: {salt}"), richest.excess, needs)
        };
        let predicts = vec![self.share("loss_on_heating", 0.0), self.share("loss_on_leaching", mass)];
        Some(Cause { cause: words, needs: Some(needs), probability: None, predicts })
    }

    /// A supply that brought more of the element than it was taken for.
    fn richer(&self, part: &FeedPart) -> Vec<Cause> {
        let factor = self.factor(part, self.mass);
        if !factor.is_finite() || factor <= 1.0 {
            return Vec::new();
        }
        let none = || vec![self.share("loss_on_heating", 0.0), self.share("loss_on_leaching", 0.0)];
        let name = &part.supply;
        // What the supply must hold does not hang on its label, but on the weighing: two standard uncertainties.
        let edges = [-2.0, 0.0, 2.0].map(|k| self.factor(part, self.mass + k * self.uncertainty));
        let around = |unit, basis: String, of: &dyn Fn(f64) -> f64| spread(edges.map(of), unit, Some(basis));
        let mut list = Vec::new();
        let content = part.best * factor;
        if let Some(unit) = part.unit {
            let each = content * unit * part.richest_content * 1e6;
            list.push(Cause {
                cause: format!("`{name}` richer than stated: {each:.1} mg {} in each unit", self.element),
                needs: Some(around("mg", format!("{} in each unit", self.element), &|f| each * f / factor)),
                probability: None,
                predicts: none(),
            });
        } else if content <= 1.0 {
            list.push(Cause {
                cause: format!("`{name}` richer than stated: {:.1} % {}", 100.0 * content, part.richest),
                needs: Some(around("%", format!("{} in `{name}`", part.richest), &|f| 100.0 * part.best * f)),
                probability: None,
                predicts: none(),
            });
        }
        list.extend(self.drier(part, factor).map(|(words, share, basis)| Cause {
            cause: words,
            needs: Some(around("%", basis, &|f| 100.0 * share * (f - 1.0) / (factor - 1.0))),
            probability: None,
            predicts: none(),
        }));
        list
    }

    /// How much richer than its richest reading a supply must have been for a mass of the lot.
    fn factor(&self, part: &FeedPart, mass: f64) -> f64 {
        (mass * self.content(self.claim) - (self.feed.most - part.most)) / part.most
    }

    /// The share of a lower hydrate that would make a supply rich enough, with those of others in the words.
    fn drier(&self, part: &FeedPart, factor: f64) -> Option<(String, f64, String)> {
        let sold = &part.richest.formula;
        let (water, dry) = (to_f64(sold.hydrate_water()), sold.without_hydrate_water());
        if water <= 0.0 || part.unit.is_some() {
            return None;
        }
        let mut lower: Vec<&Formula> = Substance::all().iter().map(|s| &s.formula).collect();
        lower.push(&dry);
        lower.retain(|f| to_f64(f.hydrate_water()) < water && f.without_hydrate_water().same_substance(&dry));
        lower.sort_by(|a, b| to_f64(b.hydrate_water()).total_cmp(&to_f64(a.hydrate_water())));
        lower.dedup_by(|a, b| a.same_substance(b));
        let needed = part.richest_content * factor;
        let shares: Vec<(&Formula, f64)> = lower
            .into_iter()
            .map(|f| (f, (needed - part.richest_content) / (f.mass_fraction(self.element) - part.richest_content)))
            .filter(|(_, share)| (0.0..=1.0).contains(share))
            .collect();
        let (first, share) = *shares.first()?;
        let (whole, host, one) = (sold.molar_mass().ok()?, dry.molar_mass().ok()?, Formula::water().molar_mass().ok()?);
        // The unit that carries the water may stand several times in the formula.
        let units = ((whole.value - host.value) / (water * one.value)).max(1.0);
        let left = (whole.value / factor - host.value) / (one.value * units);
        let told = shares.iter().take(MOST_HYDRATES).map(|(f, s)| format!("{:.1} % of it {f}(s)", 100.0 * s));
        let words = format!(
            "`{}` drier than its label: {left:.2} H2O on average, not {water}; for instance {}",
            part.supply,
            told.collect::<Vec<_>>().join(", or ")
        );
        Some((words, share, format!("{first}(s) in `{}`", part.supply)))
    }
}

/// What one cause makes of an excess.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Makes {
    /// Loose water.
    Water,
    /// Another form of the element, and what sort of form.
    Form(Species, &'static str),
    /// A salt without the element.
    Salt(Species),
    /// More of the element from a supply.
    Richer(String),
    /// Less of the element from the supplies.
    Poorer,
    /// Less of the element because it went elsewhere.
    Lost,
}

impl Makes {
    /// Key of the table of causes.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Water => "water",
            Self::Form(_, kind) => kind,
            Self::Salt(_) => "salt",
            Self::Richer(_) => "richer",
            Self::Poorer => "poorer",
            Self::Lost => "lost",
        }
    }

    /// Whether the lot then holds something beside the claimed form.
    pub fn changes_the_lot(&self) -> bool {
        matches!(self, Self::Water | Self::Form(..) | Self::Salt(_))
    }

    /// In words.
    pub fn words(&self) -> String {
        match self {
            Self::Water => "water".to_owned(),
            Self::Form(form, "unconverted") => format!("unconverted {form}"),
            Self::Form(form, "hydrate") => format!("hydrate {form}"),
            Self::Form(form, "hydroxide") => format!("hydroxide {form}"),
            Self::Form(form, "carbonate") => format!("carbonate {form}"),
            Self::Form(form, _) => form.to_string(),
            Self::Salt(salt) => format!("salt {salt}"),
            Self::Richer(supply) => format!("`{supply}` richer than stated"),
            Self::Poorer => "supplies poorer than stated".to_owned(),
            Self::Lost => "more lost than usual".to_owned(),
        }
    }
}

/// One reading of the supplies, masses in kg.
#[derive(Clone, Copy)]
struct Case {
    /// Mass of the claimed form it makes.
    possible: f64,
    /// What the lot weighs above that.
    excess: f64,
}

/// An interval between two ends and a middle, nothing in it preferred.
fn spread([low, mean, high]: [f64; 3], unit: &'static str, basis: Option<String>) -> Interval {
    Interval {
        median: mean,
        mean,
        standard_uncertainty: (high - low) / 12f64.sqrt(),
        low,
        high,
        level: 1.0,
        lower_quartile: 0.5 * (low + mean),
        upper_quartile: 0.5 * (mean + high),
        unit,
        basis,
    }
}

/// What tests separate: a hint where several causes predict the same loss on heating.
pub(super) fn told_apart(causes: &[Cause]) -> Option<String> {
    let of = |cause: &Cause, name: &str| cause.predicts.iter().find(|(n, _)| *n == name).map(|(_, f)| f.value);
    let loss = causes.iter().filter_map(|c| of(c, "loss_on_heating")).find(|loss| *loss > 0.0)?;
    let alike = causes.iter().filter(|c| of(c, "loss_on_heating").is_some_and(|l| (l - loss).abs() < 1e-6)).count();
    let fizzes = causes.iter().any(|c| of(c, "carbon_dioxide_with_acid").is_some_and(|m| m > 0.0));
    if alike < 2 {
        return None;
    }
    let parts = if fizzes { "; acid frees carbon dioxide from carbonate only" } else { "" };
    Some(format!(
        "{alike} of the causes predict the same loss on heating again to the end, {loss:.1} %: it parts them from salt and \
         from a richer supply, not from each other{parts}"
    ))
}

fn predicted(value: f64, unit: &'static str, basis: &str) -> Figure {
    Figure {
        value,
        standard_uncertainty: None,
        unit,
        basis: Some(basis.to_owned()),
        status: Status::Derived,
        sources: vec!["readings".to_owned(), "label".to_owned()],
    }
}

/// Carbon of a formula. Acid frees all of it as carbon dioxide where heat alone does so without taking up oxygen.
fn carbon(formula: &Formula) -> f64 {
    Element::from_symbol("C").map_or(0.0, |carbon| to_f64(formula.count(carbon)))
}

fn is_water(species: &Species) -> bool {
    species.formula.same_substance(&Formula::water())
}
