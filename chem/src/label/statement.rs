//! Which amounts does a label state, and of what?
//!
//! The text is cut at punctuation and at words such as `supplies` or `equivalent to`; within a piece a name belongs to
//! the amount beside it. A piece after `as` or `from` names the form in which an element is present. Labels with
//! several products in one sentence are beyond this.

use super::finding::{FindingKind, LabelFinding};
use super::printed::{self, Amount, Limit, Reading};
use super::subject::{self, Named, Subject, Word};
use crate::element::Element;
use crate::formula::Formula;
use crate::substance;

/// An amount and what it is of.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Claim {
    pub amount: Amount,
    pub subject: Option<Subject>,
}

/// All a label states.
#[derive(Clone, Debug, Default)]
pub(super) struct Statements {
    pub claims: Vec<Claim>,
    /// Substances named without an amount of their own.
    pub bare: Vec<Named>,
    /// Forms named after `as` or `from`.
    pub forms: Vec<Named>,
    /// Elements named without an amount of their own.
    pub elements: Vec<Element>,
    /// Whether the label speaks of a medicinal article.
    pub pharmacopoeial: bool,
    /// Whether the label speaks of a liquid.
    pub liquid: bool,
    pub findings: Vec<LabelFinding>,
}

enum Token<'a> {
    Amount(Box<Amount>),
    Word(Word<'a>),
    Limit(Limit),
    /// A cut; true where what follows is a form.
    Cut(bool),
}

/// Words that cut a label.
const CUTS: [&str; 31] = [
    "and",
    "contain",
    "containing",
    "contains",
    "correspond",
    "corresponding",
    "corresponds",
    "deliver",
    "delivering",
    "delivers",
    "eq",
    "equal",
    "equals",
    "equiv",
    "equivalent",
    "gives",
    "i.e",
    "ie",
    "is",
    "or",
    "plus",
    "provide",
    "provides",
    "providing",
    "supplied",
    "supplies",
    "supply",
    "supplying",
    "with",
    "yielding",
    "yields",
];

pub(super) fn read(text: &str) -> Statements {
    let mut statements = Statements::default();
    let tokens = tokens(text, &mut statements);
    let mut clause: Vec<Token<'_>> = Vec::new();
    let mut is_form = false;
    let mut collector = Collector { pending: None, statements };
    for token in attach_limits(tokens) {
        if let Token::Cut(form) = token {
            collector.clause(&std::mem::take(&mut clause), is_form);
            is_form = form;
        } else {
            clause.push(token);
        }
    }
    collector.clause(&clause, is_form);
    collector.finish()
}

/// Cuts the text into tokens, from left to right.
fn tokens<'a>(text: &'a str, statements: &mut Statements) -> Vec<Token<'a>> {
    let mut tokens = Vec::new();
    let mut at = 0;
    while let Some(letter) = text.get(at..).and_then(|rest| rest.chars().next()) {
        let digit = letter.is_ascii_digit() || (letter == '.' && followed_by_digit(text, at));
        if letter.is_whitespace() {
            at += letter.len_utf8();
        } else if digit && let Some(end) = number_token(text, at, &mut tokens, statements) {
            at = end;
        } else if let Some(limit) = limit_sign(letter) {
            tokens.push(Token::Limit(limit));
            at += letter.len_utf8();
        } else if let Some(end) = bracketed_word(text, at) {
            word_token(Word { text: text.get(at..end).unwrap_or(""), offset: at }, &mut tokens, statements);
            at = end;
        } else if is_mark(letter) {
            tokens.push(Token::Cut(false));
            at += letter.len_utf8();
        } else {
            let end = word_end(text, at);
            word_token(Word { text: text.get(at..end).unwrap_or(""), offset: at }, &mut tokens, statements);
            at = end;
        }
    }
    tokens
}

fn followed_by_digit(text: &str, at: usize) -> bool {
    text.get(at + 1..).is_some_and(|rest| rest.starts_with(|next: char| next.is_ascii_digit()))
}

fn limit_sign(letter: char) -> Option<Limit> {
    match letter {
        '≥' | '>' => Some(Limit::Least),
        '≤' | '<' => Some(Limit::Most),
        _ => None,
    }
}

fn is_mark(letter: char) -> bool {
    "=≙≈~≡,;:()[]{}\"“”„&|+/!?•●".contains(letter)
}

/// The end of a bracket that belongs to a name: an oxidation number, `(II)`, or the head of a formula, `(NH4)2SO4`.
fn bracketed_word(text: &str, at: usize) -> Option<usize> {
    let rest = text.get(at..).filter(|rest| rest.starts_with('('))?;
    let run = rest.split(char::is_whitespace).next()?.trim_end_matches([',', ';', ':', '.']);
    let (inner, behind) = run.strip_prefix('(')?.split_once(')')?;
    let oxidation_number = !inner.is_empty() && inner.chars().all(|letter| "IVX,iv".contains(letter));
    let formula = behind.starts_with(|letter: char| letter.is_alphanumeric()) && Formula::parse(run).is_ok();
    match (oxidation_number, formula) {
        (true, _) => Some(at + inner.len() + 2),
        (_, true) => Some(at + run.len()),
        _ => None,
    }
}

/// The end of a word; brackets and dots within a formula belong to it.
fn word_end(text: &str, start: usize) -> usize {
    let rest = text.get(start..).unwrap_or("");
    let mut depth = 0_usize;
    let mut before = ' ';
    for (index, letter) in rest.char_indices() {
        let opens = letter == '(' && before.is_alphanumeric();
        let closes = letter == ')' && depth > 0;
        let inner_comma = letter == ',' && depth > 0;
        if opens {
            depth += 1;
        } else if closes {
            depth -= 1;
        } else if letter.is_whitespace() || (is_mark(letter) && !inner_comma && letter != '+') {
            return if index == 0 { start + letter.len_utf8() } else { start + index };
        }
        before = letter;
    }
    text.len()
}

/// An amount, or three grades, or a bare number; where it ends.
fn number_token<'a>(
    text: &'a str,
    at: usize,
    tokens: &mut Vec<Token<'a>>,
    statements: &mut Statements,
) -> Option<usize> {
    let (reading, end, doubt) = printed::amount_at(text, at)?;
    let next = text.get(end..).and_then(|rest| rest.chars().next());
    match reading {
        Reading::Plain if next.is_some_and(|next| next.is_alphabetic() || "·/-(".contains(next)) => return None,
        Reading::Plain => {
            let number = text.get(at..end).unwrap_or("").to_owned();
            let kind = FindingKind::NumberWithoutUnit(number);
            statements.findings.push(LabelFinding { offset: at, length: end - at, kind });
        }
        Reading::Amount(amount) => tokens.push(Token::Amount(amount)),
        Reading::Grades(grades) => {
            for (grade, name) in (*grades).into_iter().zip(["N", "P2O5", "K2O"]) {
                tokens.push(Token::Cut(false));
                tokens.push(Token::Amount(Box::new(grade)));
                tokens.push(Token::Word(Word { text: name, offset: at }));
            }
            tokens.push(Token::Cut(false));
        }
    }
    statements.findings.extend(doubt.map(|kind| LabelFinding { offset: at, length: end - at, kind }));
    Some(end)
}

fn word_token<'a>(word: Word<'a>, tokens: &mut Vec<Token<'a>>, statements: &mut Statements) {
    statements.pharmacopoeial |= word.is_pharmacopoeial();
    let lower = word.text.to_lowercase();
    let lower = lower.trim_end_matches('.');
    statements.liquid |= matches!(lower, "solution" | "liquid" | "injection" | "syrup" | "acid" | "drops");
    let previous = match tokens.last() {
        Some(Token::Word(previous)) => previous.text.to_lowercase(),
        _ => String::new(),
    };
    let limit = match lower {
        "min" | "minimum" | "nlt" => Some(Limit::Least),
        "max" | "maximum" | "nmt" => Some(Limit::Most),
        "least" if previous == "at" => Some(Limit::Least),
        "most" if previous == "at" => Some(Limit::Most),
        "less" if previous == "not" => Some(Limit::Least),
        "more" if previous == "not" => Some(Limit::Most),
        "than" if matches!(tokens.last(), Some(Token::Limit(_))) => return,
        _ => None,
    };
    match limit {
        Some(limit) => tokens.push(Token::Limit(limit)),
        None if CUTS.contains(&lower) => tokens.push(Token::Cut(false)),
        None if matches!(lower, "as" | "from") => tokens.push(Token::Cut(true)),
        None => {
            // `ferrous sulfate, dried`: the comma does not part the name.
            let behind_comma = matches!(tokens.as_slice(), [.., Token::Word(_), Token::Cut(false)]);
            if behind_comma && substance::says_water(word.text) {
                tokens.pop();
            }
            tokens.push(Token::Word(word));
        }
    }
}

/// A limit belongs to the amount right before it, otherwise to the next.
fn attach_limits(tokens: Vec<Token<'_>>) -> Vec<Token<'_>> {
    let mut attached: Vec<Token<'_>> = Vec::new();
    let mut ahead = Limit::None;
    for token in tokens {
        match token {
            Token::Limit(limit) => match attached.pop() {
                Some(Token::Amount(amount)) if amount.limit == Limit::None => {
                    attached.push(Token::Amount(Box::new(amount.limited(limit))));
                }
                last => {
                    attached.extend(last);
                    ahead = limit;
                }
            },
            Token::Amount(amount) => {
                attached.push(Token::Amount(Box::new(amount.limited(std::mem::replace(&mut ahead, Limit::None)))));
            }
            other => attached.push(other),
        }
    }
    attached
}

/// `ZnSO4·H2O Zn`: a product and, as the last word, the element its amount is of.
fn split_off_element<'a, 'b>(phrase: &'b [Word<'a>]) -> (Option<Subject>, &'b [Word<'a>]) {
    let Some((last, before)) = phrase.split_last() else { return (None, phrase) };
    let product = subject::resolve(before, None).filter(|product| matches!(product, Subject::Substance(_)));
    if product.is_none() || subject::element_of(last.text).is_none() || product != subject::resolve(phrase, None) {
        return (None, phrase);
    }
    (product, std::slice::from_ref(last))
}

struct Collector {
    /// A name that still waits for its amount.
    pending: Option<Subject>,
    statements: Statements,
}

impl Collector {
    /// Reads one piece: amounts with the names beside them.
    fn clause(&mut self, tokens: &[Token<'_>], is_form: bool) {
        let mut amounts: Vec<&Amount> = Vec::new();
        let mut phrases: Vec<Vec<Word<'_>>> = vec![Vec::new()];
        for token in tokens {
            match token {
                Token::Amount(amount) => {
                    amounts.push(amount);
                    phrases.push(Vec::new());
                }
                Token::Word(word) => phrases.last_mut().into_iter().for_each(|phrase| phrase.push(*word)),
                Token::Limit(_) | Token::Cut(_) => {}
            }
        }
        let mut context = if is_form { self.context() } else { None };
        let mut subjects: Vec<Option<Subject>> = Vec::new();
        for phrase in &phrases {
            let (product, phrase) = split_off_element(phrase);
            if let Some(product) = product {
                self.without_amount(product, false);
                self.flush();
            }
            let found = self.subject(phrase, context);
            if let Some(Subject::Element(element)) = found {
                context = Some(element);
            }
            subjects.push(found);
        }
        if amounts.is_empty() {
            if let Some(subject) = subjects.pop().flatten() {
                self.without_amount(subject, is_form);
            }
            return;
        }
        for (index, amount) in amounts.iter().enumerate() {
            let subject = self.of_amount(amount, index, &mut subjects, is_form);
            self.statements.claims.push(Claim { amount: (*amount).clone(), subject });
        }
        // `zinc 23 mg gluconate`: what follows the last amount is the form.
        let last = subjects.len().saturating_sub(1);
        for (index, subject) in subjects.into_iter().enumerate() {
            if let Some(subject) = subject {
                self.without_amount(subject, is_form || (index == last && context.is_some()));
            }
        }
    }

    /// The subject of an amount: in its unit, before it, behind it, or left over from a piece before.
    fn of_amount(
        &mut self,
        amount: &Amount,
        index: usize,
        subjects: &mut [Option<Subject>],
        is_form: bool,
    ) -> Option<Subject> {
        if let Some(element) = amount.embedded.as_deref().and_then(Element::from_symbol) {
            return Some(Subject::Element(element));
        }
        let is_substance = |subject: &Option<Subject>| matches!(subject, Some(Subject::Substance(_)));
        let is_part = |subject: &Option<Subject>| match subject {
            Some(Subject::Element(_)) => true,
            Some(Subject::Substance(named)) => named.as_formula,
            None => false,
        };
        let before = subjects.get(index).cloned().flatten();
        let after = subjects.get(index + 1).cloned().flatten();
        let last = index + 2 == subjects.len();
        // `bluestone 25 % Cu`: the percentage is of what follows, the name before it is the product.
        let behind = last && is_substance(&before) && is_part(&after);
        if before.is_some() && !behind {
            if let Some(place) = subjects.get_mut(index) {
                *place = None;
            }
            return before;
        }
        if after.is_some() {
            if let Some(place) = subjects.get_mut(index + 1) {
                *place = None;
            }
            return after;
        }
        if is_form || amount.unit.kind == printed::Kind::Volume { None } else { self.pending.take() }
    }

    fn without_amount(&mut self, subject: Subject, is_form: bool) {
        match subject {
            Subject::Substance(named) if is_form => self.statements.forms.push(named),
            subject => {
                self.flush();
                self.pending = Some(subject);
            }
        }
    }

    /// The element a form of which may follow.
    fn context(&self) -> Option<Element> {
        let claimed = self.statements.claims.iter().rev().find_map(|claim| match claim.subject {
            Some(Subject::Element(element)) => Some(element),
            _ => None,
        });
        match self.pending {
            Some(Subject::Element(element)) => Some(element),
            _ => claimed.or(self.statements.elements.last().copied()),
        }
    }

    fn subject(&mut self, phrase: &[Word<'_>], element: Option<Element>) -> Option<Subject> {
        let found = subject::resolve(phrase, element);
        if found.is_none() && phrase.iter().any(|word| !word.is_filler()) {
            let first = phrase.first().map_or(0, |word| word.offset);
            let end = phrase.last().map_or(first, |word| word.offset + word.text.len());
            let name = phrase.iter().map(|word| word.text).collect::<Vec<_>>().join(" ");
            let kind = FindingKind::UnknownName(name);
            self.statements.findings.push(LabelFinding { offset: first, length: end.saturating_sub(first), kind });
        }
        found
    }

    fn flush(&mut self) {
        match self.pending.take() {
            Some(Subject::Element(element)) => self.statements.elements.push(element),
            Some(Subject::Substance(named)) => self.statements.bare.push(named),
            None => {}
        }
    }

    fn finish(mut self) -> Statements {
        // `98 % min, copper sulfate`: the only name left belongs to the amount without one.
        let nameless = self.statements.claims.iter_mut().filter(|claim| claim.subject.is_none());
        let mut masses = nameless.filter(|claim| claim.amount.unit.kind == printed::Kind::Mass);
        if let (Some(claim), None) = (masses.next(), masses.next()) {
            claim.subject = self.pending.take();
        }
        self.flush();
        self.statements
    }
}
