//! How many digits may a figure show?
//!
//! House rule, after GUM 7.2.6 (JCGM 100:2008: "it usually suffices to quote uc(y) to at most two significant
//! digits"): a standard uncertainty shows two significant digits, always two, and its value is rounded to the same
//! place. The ends of an interval are rounded to the largest power of ten that is at most a tenth of its width, so
//! that rounding moves an end by at most a twentieth of it. A figure without uncertainty shows up to six significant
//! digits and no idle zeros. Rounding is to nearest; what it neglects is the uncertainty of the uncertainty, which
//! with a few thousand draws is about one unit of the second digit.
//!
//! The minus is U+2212; a number is tied to its ± and to its unit by no-break spaces; integers above 9999 are grouped
//! in threes by a narrow no-break space (ISO 80000-1:2009, 7.3.1).

use prep::outcome::{Figure, Interval};

/// Space that never breaks: between a number and its unit.
pub const NO_BREAK: char = '\u{a0}';
/// Narrow space that never breaks: between groups of three digits.
pub const THIN: char = '\u{202f}';
/// Figures smaller than this, in their own unit, are told as "less than".
const SMALLEST: f64 = 1e-6;
/// An uncertainty below this share of its value is rounding of the arithmetic, not knowledge.
const NEGLIGIBLE: f64 = 1e-9;
/// Percentages show no more decimals than this: a hundredth of a percent is below what a bench balance resolves.
const PERCENT_DECIMALS: i32 = 2;
/// Longest text of the file that is kept on one line, characters.
const LONGEST_TIED: usize = 24;
/// No figure shows more decimals than this.
const MOST_DECIMALS: i32 = 9;

/// Decimals at which an uncertainty shows two significant digits; negative for tens and hundreds.
///
/// `None` if the uncertainty is zero, negative or not finite.
///
/// ```
/// use report::number::decimals_for;
/// assert_eq!(decimals_for(0.045), Some(3));
/// assert_eq!(decimals_for(0.0996), Some(2)); // rounds up to 0.10
/// assert_eq!(decimals_for(560.0), Some(-1));
/// ```
#[must_use]
pub fn decimals_for(uncertainty: f64) -> Option<i32> {
    if !uncertainty.is_finite() || uncertainty <= 0.0 {
        return None;
    }
    Some((1 - exponent(uncertainty, 1)).min(MOST_DECIMALS))
}

/// Power of ten of a number once rounded to `digits` decimals of its mantissa.
fn exponent(value: f64, digits: usize) -> i32 {
    let text = format!("{value:.digits$e}");
    text.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0)
}

/// A number at a fixed place: `decimals` digits after the point, or rounded to tens and hundreds if negative.
///
/// ```
/// use report::number::fixed;
/// assert_eq!(fixed(24.4118, 2), "24.41");
/// assert_eq!(fixed(1234.0, -1), "1230");
/// assert_eq!(fixed(-0.002, 1), "0.0");
/// assert_eq!(fixed(f64::NAN, 1), "not known");
/// ```
#[must_use]
pub fn fixed(value: f64, decimals: i32) -> String {
    if !value.is_finite() {
        return "not known".to_owned();
    }
    let (rounded, places) = if decimals < 0 {
        let step = 10f64.powi(-decimals);
        ((value / step).round() * step, 0)
    } else {
        (value, usize::try_from(decimals.min(MOST_DECIMALS)).unwrap_or(0))
    };
    let text = format!("{:.places$}", rounded.abs());
    let negative = rounded < 0.0 && text.bytes().any(|byte| (b'1'..=b'9').contains(&byte));
    let grouped = group(&text);
    if negative { format!("\u{2212}{grouped}") } else { grouped }
}

/// Groups the digits before the point in threes if there are more than four.
fn group(text: &str) -> String {
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    if whole.len() <= 4 {
        return text.to_owned();
    }
    let mut grouped = String::with_capacity(text.len() + 8);
    for (index, digit) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index).is_multiple_of(3) {
            grouped.push(THIN);
        }
        grouped.push(digit);
    }
    grouped + rest
}

/// A number without uncertainty: up to six significant digits, no idle zeros.
///
/// ```
/// use report::number::plain;
/// assert_eq!(plain(249.677), "249.677");
/// assert_eq!(plain(500.0), "500");
/// assert_eq!(plain(0.25450724), "0.254507");
/// ```
#[must_use]
pub fn plain(value: f64) -> String {
    significant(value, 6)
}

/// A number to a given count of significant digits, without idle zeros behind the point.
#[must_use]
pub fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    if value.is_finite() && value.abs() < SMALLEST {
        return scientific(value, digits);
    }
    let digits = i32::try_from(digits.max(1)).unwrap_or(6);
    let mantissa = usize::try_from(digits - 1).unwrap_or(0);
    let text = fixed(value, digits - 1 - exponent(value, mantissa));
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A number with a power of ten, for what is too small for plain digits.
fn scientific(value: f64, digits: usize) -> String {
    let text = format!("{:.*e}", digits.saturating_sub(1), value.abs());
    let (mantissa, power) = text.split_once('e').unwrap_or((&text, "0"));
    let mantissa = if mantissa.contains('.') { mantissa.trim_end_matches('0').trim_end_matches('.') } else { mantissa };
    let raised: String = power.chars().map(superscript).collect();
    let sign = if value < 0.0 { "\u{2212}" } else { "" };
    format!("{sign}{mantissa}{NO_BREAK}×{NO_BREAK}10{raised}")
}

fn superscript(digit: char) -> char {
    match digit {
        '-' => '⁻',
        '0' => '⁰',
        '1' => '¹',
        '2' => '²',
        '3' => '³',
        '4' => '⁴',
        '5' => '⁵',
        '6' => '⁶',
        '7' => '⁷',
        '8' => '⁸',
        '9' => '⁹',
        other => other,
    }
}

/// Value ± standard uncertainty, both to the place of the uncertainty's second digit.
///
/// ```
/// use report::number::with_uncertainty;
/// assert_eq!(with_uncertainty(24.4118, Some(0.0449)), "24.412\u{a0}±\u{a0}0.045");
/// assert_eq!(with_uncertainty(96.87, Some(0.57)), "96.87\u{a0}±\u{a0}0.57");
/// assert_eq!(with_uncertainty(100.0, None), "100");
/// ```
#[must_use]
pub fn with_uncertainty(value: f64, uncertainty: Option<f64>) -> String {
    match uncertainty.filter(|uncertainty| *uncertainty > NEGLIGIBLE * value.abs()).and_then(decimals_for) {
        Some(_) if too_small(value, uncertainty) => less_than(),
        Some(decimals) => at_place(value, uncertainty, decimals),
        None => plain(value),
    }
}

/// Whether an uncertainty is no more than rounding of the arithmetic: the figure is exact by construction.
#[must_use]
pub fn is_exact(value: f64, uncertainty: f64) -> bool {
    uncertainty <= NEGLIGIBLE * value.abs()
}

/// Value ± standard uncertainty at a place that a whole column shares.
#[must_use]
pub fn at_place(value: f64, uncertainty: Option<f64>, decimals: i32) -> String {
    match uncertainty {
        Some(uncertainty) if uncertainty > 0.0 => {
            format!("{}{NO_BREAK}±{NO_BREAK}{}", fixed(value, decimals), fixed(uncertainty, decimals))
        }
        _ => fixed(value, decimals),
    }
}

fn too_small(value: f64, uncertainty: Option<f64>) -> bool {
    value.abs() < SMALLEST && uncertainty.is_none_or(|uncertainty| uncertainty < SMALLEST)
}

fn less_than() -> String {
    format!("<{NO_BREAK}0.000001")
}

/// The ends of an interval, with an en dash between.
///
/// ```
/// use report::number::ends;
/// assert_eq!(ends(24.3385, 24.4866), "24.34\u{a0}–\u{a0}24.49");
/// assert_eq!(ends(500.0, 500.0), "500");
/// ```
#[must_use]
pub fn ends(low: f64, high: f64) -> String {
    if low.abs() < SMALLEST && high.abs() < SMALLEST {
        return if low == 0.0 && high == 0.0 { "0".to_owned() } else { less_than() };
    }
    let width = high - low;
    if !width.is_finite() {
        return "not known".to_owned();
    }
    let place = (width / 10.0).log10().floor();
    if width <= 0.0 || width < NEGLIGIBLE * high.abs().max(low.abs()) {
        return plain(low);
    }
    #[expect(clippy::cast_possible_truncation, reason = "a power of ten of a finite double is far inside i32")]
    let decimals = (-place as i32).min(MOST_DECIMALS);
    format!("{}{NO_BREAK}–{NO_BREAK}{}", fixed(low, decimals), fixed(high, decimals))
}

/// The ends of an interval and its unit: "24.34 – 24.49 g".
#[must_use]
pub fn interval(interval: &Interval) -> String {
    unit(&ends(interval.low, interval.high), interval.unit)
}

/// The ends of an interval without its unit, for a column that names it.
#[must_use]
pub fn interval_bare(interval: &Interval) -> String {
    ends(interval.low, interval.high)
}

/// Mean ± standard uncertainty of an interval with its unit.
#[must_use]
pub fn mean(interval: &Interval) -> String {
    unit(&mean_bare(interval), interval.unit)
}

/// Mean ± standard uncertainty of an interval without its unit.
#[must_use]
pub fn mean_bare(interval: &Interval) -> String {
    with_uncertainty(interval.mean, Some(interval.standard_uncertainty))
}

/// Mean ± standard uncertainty of a percentage, with two decimals at most; a smaller uncertainty is left out.
#[must_use]
pub fn percent_bare(interval: &Interval) -> String {
    let uncertainty = interval.standard_uncertainty;
    match decimals_for(uncertainty) {
        Some(decimals) if decimals <= PERCENT_DECIMALS => mean_bare(interval),
        Some(_) if uncertainty >= 0.5 * 10f64.powi(-PERCENT_DECIMALS) => {
            at_place(interval.mean, Some(uncertainty), PERCENT_DECIMALS)
        }
        _ => fixed(interval.mean, PERCENT_DECIMALS),
    }
}

/// The ends of a percentage, with two decimals at most.
#[must_use]
pub fn percent_ends(interval: &Interval) -> String {
    let (low, high) = (fixed(interval.low, PERCENT_DECIMALS), fixed(interval.high, PERCENT_DECIMALS));
    if interval.high - interval.low >= 10f64.powi(1 - PERCENT_DECIMALS) {
        interval_bare(interval)
    } else if low == high {
        low
    } else {
        format!("{low}{NO_BREAK}–{NO_BREAK}{high}")
    }
}

/// A figure with its uncertainty and unit.
#[must_use]
pub fn figure(figure: &Figure) -> String {
    unit(&figure_bare(figure), figure.unit)
}

/// A figure with its uncertainty, without its unit.
#[must_use]
pub fn figure_bare(figure: &Figure) -> String {
    with_uncertainty(figure.value, figure.standard_uncertainty)
}

/// Ties a unit to its number; a dimensionless number stays alone.
#[must_use]
pub fn unit(number: &str, unit: &str) -> String {
    if unit.is_empty() || unit == "1" { number.to_owned() } else { format!("{number}{NO_BREAK}{unit}") }
}

/// A text of the file for print: numbers tied to their units, signs as signs.
///
/// ```
/// use report::number::tied;
/// assert_eq!(tied("43.90 g"), "43.90\u{a0}g");
/// assert_eq!(tied("4 x 100 g"), "4\u{a0}×\u{a0}100\u{a0}g");
/// assert_eq!(tied(">= 98 %"), "≥\u{a0}98\u{a0}%");
/// assert_eq!(tied("-0.12 g"), "−0.12\u{a0}g");
/// assert_eq!(tied("goes dark on heating, then light"), "goes dark on heating, then light");
/// ```
#[must_use]
pub fn tied(text: &str) -> String {
    if !text.contains(|c: char| c.is_ascii_digit()) || text.chars().count() > LONGEST_TIED {
        return text.to_owned();
    }
    let signs = text.replace("+/-", "±").replace(">=", "≥").replace("<=", "≤").replace(" x ", " × ");
    let mut before = ' ';
    let mut out = String::with_capacity(signs.len());
    for character in signs.chars() {
        let sign = character == '-' && !before.is_ascii_alphanumeric();
        out.push(match character {
            ' ' => NO_BREAK,
            '-' if sign => '\u{2212}',
            other => other,
        });
        before = character;
    }
    out
}

/// Units that a number in running text is tied to.
const TIED_UNITS: [&str; 39] = [
    "g", "mg", "kg", "mL", "L", "%", "°C", "K", "h", "min", "s", "ppm", "mol", "mmol", "m³", "bar", "kJ", "J", "EUR",
    "mm", "cm", "bit", "mg/kg", "kJ/g", "m", "mbar", "kPa", "V", "W", "L/min", "mL/min", "g/mL", "mol/L", "mol/kg",
    "mg/L", "kJ/mol", "m3", "days", "µS/cm",
];

/// Running text for print: numbers tied to their units and their ±, names in quotation marks, signs as signs.
///
/// ```
/// use report::number::with_ties;
/// assert_eq!(with_ties("up to 4.9 L of gas"), "up to 4.9\u{a0}L of gas");
/// assert_eq!(with_ties("step `dry`: 2 x 20 g"), "step “dry”: 2\u{a0}×\u{a0}20\u{a0}g");
/// assert_eq!(with_ties("(n = 0.43 ± 0.02), so"), "(n\u{a0}=\u{a0}0.43\u{a0}±\u{a0}0.02), so");
/// assert_eq!(with_ties("takes 14 .. 16 h"), "takes 14\u{a0}..\u{a0}16\u{a0}h");
/// ```
#[must_use]
pub fn with_ties(text: &str) -> String {
    let text = quoted(text);
    let words: Vec<&str> = text.split(' ').collect();
    let digit = |word: &str| word.ends_with(|c: char| c.is_ascii_digit());
    let begins = |word: &str| word.starts_with(|c: char| c.is_ascii_digit());
    let mut out = String::with_capacity(text.len() + 8);
    for (at, word) in words.iter().enumerate() {
        let before = at.checked_sub(1).and_then(|before| words.get(before)).copied().unwrap_or_default();
        let earlier = at.checked_sub(2).and_then(|before| words.get(before)).copied().unwrap_or_default();
        let after = words.get(at + 1).copied().unwrap_or_default();
        let bare = word.trim_end_matches([',', ';', '.', ':', ')', '?']);
        let sign = |word: &str| matches!(word, "±" | "x" | "×" | ".." | "–");
        let named = |word: &str| word.trim_start_matches('(').chars().count() == 1;
        let tied = digit(before) && (TIED_UNITS.contains(&bare) || sign(word) && begins(after))
            || digit(earlier) && sign(before) && begins(word)
            || *word == "=" && named(before) && begins(after)
            || before == "=" && named(earlier) && begins(word);
        if at > 0 {
            out.push(if tied { NO_BREAK } else { ' ' });
        }
        out += if tied && *word == "x" { "×" } else { word };
    }
    out
}

/// Grave accents in pairs as quotation marks.
fn quoted(text: &str) -> String {
    if !text.contains('`') || !text.matches('`').count().is_multiple_of(2) {
        return text.to_owned();
    }
    let mut opening = true;
    let turn = |character| match character {
        '`' => {
            opening = !opening;
            if opening { '”' } else { '“' }
        }
        other => other,
    };
    text.chars().map(turn).collect()
}

/// A figure for the ear: one digit of the uncertainty, and its value to the same place.
///
/// ```
/// use report::number::said;
/// assert_eq!(said(24.4089, 0.0451), "24.41\u{a0}±\u{a0}0.05");
/// assert_eq!(said(96.87, 0.59), "96.9\u{a0}±\u{a0}0.6");
/// assert_eq!(said(96.87, 1.7), "97\u{a0}±\u{a0}2");
/// assert_eq!(said(100.0, 1e-14), "100");
/// ```
#[must_use]
pub fn said(value: f64, uncertainty: f64) -> String {
    match decimals_for(uncertainty).filter(|_| !is_exact(value, uncertainty)) {
        Some(_) => at_place(value, Some(uncertainty), (-exponent(uncertainty, 0)).min(MOST_DECIMALS)),
        None => plain(value),
    }
}

/// A probability as a percentage that never claims certainty: "< 1 %", "37 %", "> 99 %".
///
/// ```
/// use report::number::chance;
/// assert_eq!(chance(0.374), "37\u{a0}%");
/// assert_eq!(chance(0.9999), ">\u{a0}99\u{a0}%");
/// assert_eq!(chance(0.0), "<\u{a0}1\u{a0}%");
/// ```
#[must_use]
pub fn chance(probability: f64) -> String {
    if !probability.is_finite() {
        "not known".to_owned()
    } else if probability < 0.01 {
        format!("<{NO_BREAK}1{NO_BREAK}%")
    } else if probability > 0.99 {
        format!(">{NO_BREAK}99{NO_BREAK}%")
    } else {
        format!("{}{NO_BREAK}%", fixed(100.0 * probability, 0))
    }
}

/// Pads the cells of a column so that their decimal points stand in line and all are equally wide.
///
/// The point of the first number counts; a whole number ends where its point would be. Empty cells stay blank.
#[must_use]
pub fn align_points(cells: &[String]) -> Vec<String> {
    let before: Vec<usize> = cells.iter().map(|cell| before_point(cell)).collect();
    let lead = before.iter().copied().max().unwrap_or(0);
    let shifted: Vec<String> = cells
        .iter()
        .zip(&before)
        .map(|(cell, before)| format!("{}{cell}", NO_BREAK.to_string().repeat(lead - before)))
        .collect();
    let width = shifted.iter().map(|cell| cell.chars().count()).max().unwrap_or(0);
    shifted
        .into_iter()
        .map(|cell| {
            let missing = width - cell.chars().count();
            cell + &NO_BREAK.to_string().repeat(missing)
        })
        .collect()
}

/// Characters before the decimal point of the first number of a cell.
fn before_point(cell: &str) -> usize {
    let mut inside = false;
    for (index, character) in cell.chars().enumerate() {
        let digit = character.is_ascii_digit() || (inside && character == THIN);
        if inside && !digit {
            return index;
        }
        inside = digit;
    }
    cell.chars().count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain_spaces(text: &str) -> String {
        text.replace([NO_BREAK, THIN], " ")
    }

    /// GUM (JCGM 100:2008) 7.2.6, from memory: "if yi = 10,057 62 Ω with uc(yi) = 27 mΩ, yi should be rounded to
    /// 10,058 Ω"; and 7.2.2: "mS = (100,021 47 ± 0,000 35) g" carries two digits of the uncertainty.
    #[test]
    fn values_are_rounded_to_the_place_of_their_uncertainty() {
        assert_eq!(plain_spaces(&with_uncertainty(10.05762, Some(0.027))), "10.058 ± 0.027");
        assert_eq!(plain_spaces(&with_uncertainty(100.021_47, Some(0.000_35))), "100.02147 ± 0.00035");
    }

    #[test]
    fn an_uncertainty_that_rounds_up_keeps_two_digits() {
        assert_eq!(plain_spaces(&with_uncertainty(1.0, Some(0.0996))), "1.00 ± 0.10");
        assert_eq!(plain_spaces(&with_uncertainty(1234.4, Some(562.0))), "1230 ± 560");
        assert_eq!(plain_spaces(&with_uncertainty(-3.2, Some(0.41))), "\u{2212}3.20 ± 0.41");
    }

    #[test]
    fn an_uncertainty_of_nothing_leaves_the_value_plain() {
        assert_eq!(with_uncertainty(50.0, Some(0.0)), "50");
        assert_eq!(with_uncertainty(50.0, Some(f64::NAN)), "50");
        assert_eq!(with_uncertainty(f64::INFINITY, Some(1.0)), "not known");
    }

    #[test]
    fn percentages_stop_at_a_hundredth() {
        let percent = |mean: f64, u: f64| Interval {
            median: mean,
            mean,
            standard_uncertainty: u,
            low: mean - 1.6 * u,
            high: mean + 1.6 * u,
            level: 0.9,
            lower_quartile: mean,
            upper_quartile: mean,
            unit: "%",
            basis: None,
        };
        assert_eq!(plain_spaces(&percent_bare(&percent(96.87, 0.57))), "96.87 ± 0.57");
        assert_eq!(plain_spaces(&percent_bare(&percent(99.93, 0.053))), "99.93 ± 0.05");
        assert_eq!(plain_spaces(&percent_bare(&percent(99.991, 0.0013))), "99.99");
        assert_eq!(plain_spaces(&percent_bare(&percent(100.0, 1e-14))), "100.00");
        assert_eq!(plain_spaces(&percent_ends(&percent(99.991, 0.0013))), "99.99");
        assert_eq!(plain_spaces(&percent_ends(&percent(96.5, 0.33))), "96.0 – 97.0");
        assert_eq!(plain_spaces(&with_uncertainty(100.0, Some(1e-14))), "100");
    }

    #[test]
    fn ends_show_a_tenth_of_the_width() {
        assert_eq!(plain_spaces(&ends(0.0021, 0.118)), "0.00 – 0.12");
        assert_eq!(plain_spaces(&ends(42.13, 46.58)), "42.1 – 46.6");
        assert_eq!(plain_spaces(&ends(1310.0, 1421.0)), "1310 – 1420");
        assert_eq!(plain_spaces(&ends(0.0, 3e-9)), "< 0.000001");
        assert_eq!(ends(0.0, 0.0), "0");
        assert_eq!(ends(f64::NAN, 1.0), "not known");
    }

    #[test]
    fn rounding_an_end_moves_it_by_at_most_a_twentieth_of_the_width() {
        for step in 1..400 {
            let width = 1.07f64.powi(step) * 1e-4;
            let text = plain_spaces(&ends(0.0, width));
            let high: f64 = text.split(" – ").nth(1).and_then(|high| high.replace(' ', "").parse().ok()).unwrap();
            assert!((high - width).abs() <= width / 20.0 * (1.0 + 1e-9), "{width} shown as {text}");
        }
    }

    #[test]
    fn large_whole_numbers_are_grouped() {
        assert_eq!(plain_spaces(&fixed(65_000.0, 0)), "65 000");
        assert_eq!(plain_spaces(&fixed(1_234_567.8, 1)), "1 234 567.8");
        assert_eq!(fixed(6500.0, 0), "6500");
    }

    #[test]
    fn small_numbers_keep_their_digits() {
        assert_eq!(plain_spaces(&plain(1.5e-9)), "1.5 × 10⁻⁹");
        assert_eq!(plain(0.000_012), "0.000012");
    }

    #[test]
    fn points_stand_in_line() {
        let cells = ["1.112".to_owned(), "23.3".to_owned(), "500".to_owned(), String::new()];
        let aligned = align_points(&cells);
        let points: Vec<Option<usize>> = aligned.iter().map(|cell| cell.chars().position(|c| c == '.')).collect();
        assert_eq!(points, [Some(3), Some(3), None, None]);
        assert!(aligned.iter().all(|cell| cell.chars().count() == aligned[0].chars().count()));
    }
}
