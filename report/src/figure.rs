//! What does a figure hold, and how does one drawing serve page, command and paper?
//!
//! A [`Figure`] is drawn twice, for a desk (about 720 or 520 wide) and for a phone (326), never scaled below its own
//! type; it carries a title, a description that says the numbers in words, and the numbers as a table for whoever does
//! not see it. Colours are classes of the look on a page; a file of its own brings them along, light and dark. Every
//! axis ends with quantity and unit, marks are labelled directly, an interval is drawn on every computed mark.

mod account;
mod answers;
mod axis;
mod bed;
mod budget;
mod crystals;
mod dissolved;
mod drying;
mod flow;
mod gibbs;
mod hatch;
mod holding;
pub mod labels;
mod letters;
mod levels;
mod plane;
mod plateaus;
mod potential;
mod print;
mod stack;
pub mod strip;
mod titration;
mod windows;
mod yields;

pub use account::account_figures;
pub use answers::{
    Named, crystallise_figures, equilibrium_figures, furnace_figures, ignite_figures, reaction_figures,
    solution_figures, wash_figures,
};
pub use bed::bed_figure;
pub use budget::budget_figure;
pub use crystals::{crystals_figure, washings_figure};
pub use dissolved::{dissolved_figure, excess_figure};
pub use drying::drying_figure;
pub use flow::flow_figure;
pub use gibbs::gibbs_figure;
pub use holding::holding_figure;
pub use levels::levels_figure;
pub use plateaus::plateaus_figure;
pub use potential::potential_figure;
pub use stack::{heated_phases_figure, sweep_figure};
pub use titration::titration_figure;
pub use windows::windows_figure;
pub use yields::yields_figure;

use crate::document::{Block, Table};
use crate::html::{Markup, PreEscaped, html};

/// Width on a phone, px.
const NARROW: f64 = 326.0;
/// What a figure of its own brings along: the colours of the look, as far as figures use them.
const STYLE: &str = include_str!("figure/alone.css");

/// A drawing at one width.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// Width, px.
    pub width: f64,
    /// Height, px.
    pub height: f64,
    /// SVG elements.
    body: String,
}

/// A figure with its words.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Title.
    pub title: String,
    /// The numbers in a sentence.
    pub description: String,
    /// The numbers as a table.
    pub table: Table,
    /// What the marks mean.
    pub caption: String,
    wide: Drawing,
    narrow: Drawing,
}

impl Figure {
    /// For a page: both widths, the caption, and the numbers as a table to be opened.
    #[must_use]
    pub fn html(&self) -> Markup {
        self.framed(&html! {})
    }

    /// As part of a page where no heading names it: with its title at the head of its words.
    #[must_use]
    pub fn html_titled(&self) -> Markup {
        self.framed(&html! { b { (crate::html::formula::rich(&self.title)) "." } " " })
    }

    fn framed(&self, before: &Markup) -> Markup {
        html! {
            figure.fig {
                (PreEscaped(self.drawn(&self.wide, "wide-only")))
                (PreEscaped(self.drawn(&self.narrow, "narrow")))
                @if !self.table.rows.is_empty() {
                    details.numbers { summary { "the numbers" } (crate::html::one(&Block::Table(self.table.clone()))) }
                }
                figcaption.cap { (before) (crate::html::formula::rich(&self.caption)) }
            }
        }
    }

    fn drawn(&self, drawing: &Drawing, class: &str) -> String {
        let (w, h) = (drawing.width, drawing.height);
        let (title, description) = (escaped(&self.title), escaped(&self.description));
        format!(
            "<svg class=\"{class}\" width=\"{w:.0}\" height=\"{h:.0}\" viewBox=\"0 0 {w:.0} {h:.0}\" paint-order=\"stroke\" role=\"img\" aria-label=\"{title}. {description}\">{}</svg>",
            drawing.body
        )
    }

    /// As a file of its own, with its colours, light and dark.
    #[must_use]
    pub fn svg(&self) -> String {
        let (w, h) = (self.wide.width, self.wide.height);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"fig\" width=\"{:.0}\" height=\"{:.0}\" viewBox=\"-12 -12 {:.0} {:.0}\" role=\"img\" aria-labelledby=\"t d\"><title id=\"t\">{}</title><desc id=\"d\">{}</desc><style>{STYLE}</style><rect class=\"paper\" x=\"-12\" y=\"-12\" width=\"{:.0}\" height=\"{:.0}\"/>{}</svg>\n",
            w + 24.0,
            h + 24.0,
            w + 24.0,
            h + 24.0,
            escaped(&self.title),
            escaped(&self.description),
            w + 24.0,
            h + 24.0,
            self.wide.body
        )
    }
}

/// Text inside SVG.
pub(crate) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Text with formulas, inside SVG: digits behind letters of a formula as drawn inferiors.
pub(crate) fn set_text(text: &str) -> String {
    let word = |word: &str| {
        let formula = word.trim_end_matches([',', ';']);
        if chem::Species::parse(&formula.replace("·n", "·")).is_ok()
            && formula.starts_with(|c: char| c.is_ascii_uppercase())
        {
            let set = crate::html::formula::marked(
                formula,
                ("<tspan class=\"low\">", "</tspan>"),
                ("<tspan class=\"high\">", "</tspan>"),
            );
            format!("{set}{}", &word[formula.len()..])
        } else {
            escaped(word)
        }
    };
    text.split(' ').map(word).collect::<Vec<_>>().join(" ")
}

/// Text shortened to what fits into `width` px at `size` px; the typeface runs at about half its size a letter.
pub(crate) fn fitted(text: &str, width: f64, size: f64) -> String {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count of letters")]
    let most = (width / (0.47 * size)).max(4.0) as usize;
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut short: String = text.chars().take(most - 1).collect();
    short.push('…');
    short
}

/// `<text>` at a place.
pub(crate) fn label(class: &str, size: u32, x: f64, y: f64, text: &str) -> String {
    format!("<text class=\"{class}\" font-size=\"{size}\" x=\"{x:.1}\" y=\"{y:.1}\">{}</text>", set_text(text))
}
