//! Which slip of the pen or of the hand would make an expected figure the one that was written down?
//!
//! Every figure that one slip away from the written one is tried: adjacent digits swapped, one digit wrong, the decimal
//! point moved, milligrams for grams, a vessel on the pan that should not have been or missing where it should, another
//! vessel's tare. Those that are expected are kept, ranked by how common the slip is and how near the figure lies to the
//! middle. Two slips at once are not tried. Nothing is corrected.
//!
//! Source of the frequencies: estimated. They rank, and no number is made of them.

use super::super::predict::off;
use super::INSIDE;
use crate::outcome::{Interval, Slip};
use chem::{Dimension, Quantity, Value as Number};

/// Share of all slips that are swapped digits.
const SWAPPED: f64 = 0.25;
/// Share that are one wrong digit.
const WRONG: f64 = 0.25;
/// Share that are a moved decimal point.
const MOVED: f64 = 0.1;
/// Share that are one unit for another.
const UNIT: f64 = 0.1;
/// Share that are a vessel too many or too few.
const VESSEL: f64 = 0.2;
/// Share that are another vessel.
const OTHER: f64 = 0.1;
/// Most slips told.
const MOST: usize = 4;
/// Most digits of a figure that is looked at.
const MOST_DIGITS: usize = 12;

/// A vessel whose mass is known.
#[derive(Clone, Debug)]
pub(crate) struct Tare<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its mass, g.
    pub grams: f64,
}

/// The figure as written, taken apart.
struct Written<'a> {
    digits: Vec<u8>,
    /// Digits before the decimal point.
    whole: usize,
    /// Sign of the decimal point.
    point: char,
    unit: &'a str,
}

/// A figure that one slip might have turned into the one written.
struct Tried {
    slip: String,
    figure: String,
    grams: f64,
    share: f64,
}

/// Slips that would make an expected figure the one written, the likeliest first. `on` is the vessel on the pan by the
/// file; `tares` are all vessels whose mass is known.
pub(crate) fn slips(text: &str, found: f64, expected: &Interval, on: Option<&str>, tares: &[Tare<'_>]) -> Vec<Slip> {
    let mut tried = Vec::new();
    if let Some(written) = Written::read(text) {
        written.swapped(&mut tried);
        written.wrong(&mut tried);
        written.moved(&mut tried);
        written.unit(&mut tried);
        written.vessels(found, on, tares, &mut tried);
    }
    let mut likely: Vec<(f64, Slip)> = tried
        .into_iter()
        .filter(|t| t.grams > 0.0)
        .filter_map(|t| {
            let off = off(expected, t.grams);
            let slip = Slip { slip: t.slip, figure: t.figure, grams: t.grams, off };
            (off.abs() <= INSIDE).then(|| (t.share.ln() - 0.5 * off * off, slip))
        })
        .collect();
    likely.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut kept: Vec<Slip> = Vec::new();
    for (_, slip) in likely {
        if kept.len() < MOST && kept.iter().all(|k| k.figure != slip.figure) {
            kept.push(slip);
        }
    }
    kept
}

impl<'a> Written<'a> {
    /// A figure in plain decimals with its unit: `26.252 g`.
    fn read(text: &'a str) -> Option<Self> {
        let text = text.trim();
        let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(text.len());
        let (figure, unit) = text.split_at(end);
        let point = figure.chars().find(|c| !c.is_ascii_digit()).unwrap_or('.');
        let mut parts = figure.split(point);
        let (whole, decimals) = (parts.next()?, parts.next().unwrap_or(""));
        let plain = parts.next().is_none() && !whole.is_empty() && unit.trim().chars().all(char::is_alphabetic);
        let digits: Vec<u8> = whole.bytes().chain(decimals.bytes()).collect();
        let short = digits.len() <= MOST_DIGITS && digits.iter().all(u8::is_ascii_digit);
        (plain && short).then(|| Self { whole: whole.len(), digits, point, unit: unit.trim() })
    }

    fn text(&self, digits: &[u8], whole: usize, unit: &str) -> String {
        let shown = |part: &[u8]| part.iter().map(|d| char::from(*d)).collect::<String>();
        let (before, after) = digits.split_at(whole.min(digits.len()));
        let point = if after.is_empty() { String::new() } else { self.point.to_string() };
        format!("{}{point}{} {unit}", shown(before), shown(after))
    }

    fn push(&self, tried: &mut Vec<Tried>, slip: &str, figure: String, share: f64) {
        if let Some(grams) = grams(&figure.replace(self.point, ".")) {
            tried.push(Tried { slip: slip.to_owned(), figure, grams, share });
        }
    }

    /// No one writes `06.25`.
    fn begins_well(&self, digits: &[u8]) -> bool {
        self.whole < 2 || digits.first().is_some_and(|d| *d != b'0')
    }

    fn swapped(&self, tried: &mut Vec<Tried>) {
        let share = SWAPPED / self.digits.len().max(2) as f64;
        for i in 1..self.digits.len() {
            let mut digits = self.digits.clone();
            digits.swap(i - 1, i);
            if digits != self.digits && self.begins_well(&digits) {
                self.push(tried, "adjacent digits swapped", self.text(&digits, self.whole, self.unit), share);
            }
        }
    }

    fn wrong(&self, tried: &mut Vec<Tried>) {
        let share = WRONG / (9 * self.digits.len().max(1)) as f64;
        for i in 0..self.digits.len() {
            for digit in b'0'..=b'9' {
                let mut digits = self.digits.clone();
                digits[i] = digit;
                if digits != self.digits && self.begins_well(&digits) {
                    self.push(tried, "one digit wrong", self.text(&digits, self.whole, self.unit), share);
                }
            }
        }
    }

    fn moved(&self, tried: &mut Vec<Tried>) {
        for places in 1..=2usize {
            let mut longer = self.digits.clone();
            longer.resize(longer.len().max(self.whole + places), b'0');
            let right = self.text(&longer, self.whole + places, self.unit);
            let left = if self.whole > places {
                self.text(&self.digits, self.whole - places, self.unit)
            } else {
                let zeros = vec![b'0'; places + 1 - self.whole];
                let digits: Vec<u8> = zeros.into_iter().chain(self.digits.iter().copied()).collect();
                self.text(&digits, 1, self.unit)
            };
            for figure in [right, left] {
                // Leading zeros that the shift left before the point are not written.
                let bare = figure.trim_start_matches('0');
                let figure = if bare.starts_with(self.point) { format!("0{bare}") } else { bare.to_owned() };
                self.push(tried, "decimal point moved", figure, MOVED / 4.0);
            }
        }
    }

    fn unit(&self, tried: &mut Vec<Tried>) {
        let others: &[&str] = match self.unit {
            "g" => &["mg", "kg"],
            "mg" | "kg" => &["g"],
            _ => &[],
        };
        for other in others {
            let figure = self.text(&self.digits, self.whole, other);
            self.push(tried, &format!("{} for {other}", self.unit), figure, UNIT / 2.0);
        }
    }

    fn vessels(&self, found: f64, on: Option<&str>, tares: &[Tare<'_>], tried: &mut Vec<Tried>) {
        let count = tares.len().max(1) as f64;
        let mut push = |slip: String, grams: f64, share: f64| {
            tried.extend(self.in_grams(grams).map(|figure| Tried { slip, figure, grams, share }));
        };
        let Some(on) = on else {
            for tare in tares {
                push(format!("with `{}` on the pan", tare.name), found - tare.grams, VESSEL / count);
            }
            return;
        };
        let Some(own) = tares.iter().find(|tare| tare.name == on) else { return };
        push(format!("written without `{on}`"), found + own.grams, VESSEL / 2.0);
        push(format!("`{on}` counted twice"), found - own.grams, VESSEL / 4.0);
        for other in tares.iter().filter(|tare| tare.name != on) {
            let grams = found - other.grams + own.grams;
            push(format!("`{}` on the pan in place of `{on}`", other.name), grams, OTHER / count);
        }
    }

    /// Grams in the unit and with the decimals of the figure.
    fn in_grams(&self, grams: f64) -> Option<String> {
        let unit = self::grams(&format!("1 {}", self.unit))?;
        let decimals = self.digits.len() - self.whole;
        let figure = format!("{:.decimals$} {}", grams / unit, self.unit);
        Some(if self.point == ',' { figure.replace('.', ",") } else { figure })
    }
}

fn grams(text: &str) -> Option<f64> {
    match Quantity::parse_as(text, Dimension::MASS).ok()?.si() {
        Number::Point { value, .. } => Some(1e3 * value),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn expected(middle: f64, u: f64) -> Interval {
        Interval {
            median: middle,
            mean: middle,
            standard_uncertainty: u,
            low: middle - 1.645 * u,
            high: middle + 1.645 * u,
            level: 0.9,
            lower_quartile: middle - 0.6745 * u,
            upper_quartile: middle + 0.6745 * u,
            unit: "g",
            basis: None,
        }
    }

    fn first(text: &str, middle: f64, u: f64, on: Option<&str>) -> Option<(String, String)> {
        let tares = [Tare { name: "crucible 3", grams: 25.130 }, Tare { name: "crucible 4", grams: 24.871 }];
        let found = grams(&text.replace(',', ".")).expect("a mass");
        slips(text, found, &expected(middle, u), on, &tares).into_iter().next().map(|s| (s.slip, s.figure))
    }

    /// Each slip made by hand from the right figure is named first, with the right figure.
    #[test]
    fn slips_made_by_hand_are_named() {
        for (text, middle, u, on, slip, figure) in [
            ("26.252 g", 26.522, 0.01, Some("crucible 3"), "adjacent digits swapped", "26.522 g"),
            ("64.10 g", 46.1, 0.3, None, "adjacent digits swapped", "46.10 g"),
            ("26,252 g", 26.522, 0.01, Some("crucible 3"), "adjacent digits swapped", "26,522 g"),
            ("27.522 g", 26.522, 0.002, Some("crucible 3"), "one digit wrong", "26.522 g"),
            ("4.390 g", 43.9, 0.1, None, "decimal point moved", "43.90 g"),
            ("439.0 g", 43.9, 0.1, None, "decimal point moved", "43.90 g"),
            ("0.439 g", 43.9, 0.1, None, "decimal point moved", "43.9 g"),
            ("439 g", 4.39, 0.01, None, "decimal point moved", "4.39 g"),
            ("1392 g", 1.392, 0.01, None, "g for mg", "1392 mg"),
            ("0.0439 kg", 0.0439, 1e-4, None, "kg for g", "0.0439 g"),
            ("1.392 g", 26.522, 0.003, Some("crucible 3"), "written without `crucible 3`", "26.522 g"),
            ("26.522 g", 1.392, 0.003, None, "with `crucible 3` on the pan", "1.392 g"),
            (
                "26.263 g",
                26.522,
                0.001,
                Some("crucible 3"),
                "`crucible 4` on the pan in place of `crucible 3`",
                "26.522 g",
            ),
            ("51.652 g", 26.522, 0.003, Some("crucible 3"), "`crucible 3` counted twice", "26.522 g"),
        ] {
            let told = first(text, middle, u, on);
            assert_eq!(told, Some((slip.to_owned(), figure.to_owned())), "{text}");
        }
    }

    #[test]
    fn nothing_is_made_of_what_no_slip_explains() {
        assert_eq!(first("30.000 g", 26.522, 0.0005, Some("crucible 3")), None);
        for odd in ["2.5e1 g", "12 g 3", "1.2.3 g", "123456789012345 g"] {
            assert!(slips(odd, 25.0, &expected(26.0, 0.1), None, &[]).is_empty(), "{odd}");
        }
    }
}
