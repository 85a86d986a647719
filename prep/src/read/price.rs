//! What a supply costs: `pack = "1 kg"`, `price = "4.90 EUR"`.
//!
//! A price is a number and a currency, before or behind it: an alphabetic code, or a sign. Money is no physical
//! quantity: nothing here converts one currency into another, and a price has no uncertainty.
//!
//! Source of the codes: ISO 4217, list one (`data/currencies.tsv`).

use super::amount::{Of, amount};
use crate::model::{Currency, Measure, Price, Spanned, WATER};
use crate::syntax::{Fields, suggest};
use chem::{Dimension, Quantity, Value as Number};
use std::sync::LazyLock;

const CURRENCIES: &str = include_str!("../../../data/currencies.tsv");

/// Largest price that is taken for meant.
const LARGEST_PRICE: f64 = 1e9;

/// Currencies with the signs that stand for one of them alone.
static KNOWN: LazyLock<Vec<(Currency, &'static str)>> = LazyLock::new(|| {
    let rows = chem::table::rows(CURRENCIES);
    let currency = |row: &chem::table::Row<'static>| {
        let decimals = row.cell("decimals").parse().unwrap_or(2);
        (Currency { code: row.cell("code"), decimals }, row.cell("sign"))
    };
    rows.iter().map(currency).collect()
});

pub(super) fn price(fields: &Fields<'_>, supply: &str, measure: Measure) -> Option<Price> {
    let of = Of { measure, water: supply == WATER, may_be_nothing: false };
    let has_pack = fields.item("pack").is_some();
    let pack = fields.text("pack").and_then(|text| amount(fields, "pack", &text, of));
    let text = fields.text("price")?;
    let (amount, currency) = money(fields, &text)?;
    if !has_pack {
        let message = format!("`price` of {} does not say for how much", fields.what());
        fields.findings().error("price-without-pack", &text.span, message, "add what is bought, `pack = \"1 kg\"`");
    }
    Some(Price { pack: pack?, amount, currency, text })
}

/// An amount of money and its currency.
fn money(fields: &Fields<'_>, text: &Spanned<String>) -> Option<(f64, Currency)> {
    let refuse = |code: &'static str, why: String, hint: String| {
        fields.findings().error(code, &text.span, format!("`price` of {}: {why}", fields.what()), hint);
        None
    };
    let example = || "write what one pack costs, `4.90 EUR` or `€ 4.90`".to_owned();
    let whole = text.value.trim();
    let of_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '−' | '+');
    let begin = whole.find(of_number).unwrap_or(0);
    let (before, rest) = whole.split_at(begin);
    let end = rest.rfind(|c: char| c.is_ascii_digit()).map_or(0, |at| at + 1);
    let (number, behind) = rest.split_at(end);
    let word = match (before.trim(), behind.trim()) {
        (word, "") | ("", word) if !word.is_empty() => word,
        _ => return refuse("bad-price", format!("`{whole}` is no amount of one currency"), example()),
    };
    if number.is_empty() {
        return refuse("bad-price", format!("`{whole}` names no figure"), example());
    }
    let amount = match Quantity::parse_as(number, Dimension::DIMENSIONLESS).map(|quantity| quantity.value) {
        Ok(Number::Point { value, standard_uncertainty: None }) if (0.0..=LARGEST_PRICE).contains(&value) => value,
        Ok(_) => return refuse("bad-price", format!("`{number}` is no price"), example()),
        Err(error) => return refuse("bad-price", error.to_string(), example()),
    };
    let upper = word.to_uppercase();
    if let Some((currency, _)) =
        KNOWN.iter().find(|(known, sign)| known.code == upper || (*sign == word && !sign.is_empty()))
    {
        return Some((amount, *currency));
    }
    if word.chars().any(|c| c == '/' || c.is_ascii_digit()) {
        return refuse("bad-price", format!("`{whole}` is no price of a pack"), example());
    }
    let codes: Vec<&str> = KNOWN.iter().map(|(known, _)| known.code).collect();
    let hint = match crate::syntax::nearest(&upper, codes.iter().copied()) {
        Some(_) => suggest(&upper, &codes),
        None => "write the three letters of the currency, `4.90 EUR`".to_owned(),
    };
    refuse("unknown-currency", format!("`{word}` is no currency"), hint)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 4217, list one: "EUR 978", "JPY 392", "CHF 756" are entries; "BTC" is none.
    #[test]
    fn the_table_holds_the_standard() {
        let has = |code: &str| KNOWN.iter().any(|(known, _)| known.code == code);
        assert!(["EUR", "USD", "GBP", "JPY", "CHF", "CNY", "INR", "BRL", "ZAR"].into_iter().all(has));
        assert!(!has("BTC") && KNOWN.len() > 150);
        let decimals = |code: &str| KNOWN.iter().find(|(known, _)| known.code == code).map(|(known, _)| known.decimals);
        assert_eq!(["EUR", "JPY", "KWD"].map(decimals), [Some(2), Some(0), Some(3)]);
        let rows = chem::table::rows(CURRENCIES);
        assert!(rows.iter().all(|row| chem::SourceKey::from_text(row.cell("source")).is_some()));
    }
}
