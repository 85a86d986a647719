//! How does a figure come onto paper?
//!
//! The drawing of the desk with the colours of print written out, because a typesetter knows no variables of a style; every
//! mark survives a grey printer by its form.

use super::Figure;

const STYLE: &str = include_str!("print.css");

impl Figure {
    /// The drawing for paper and its width, px.
    #[must_use]
    pub fn on_paper(&self) -> (String, f64) {
        let (width, height) = (self.wide.width, self.wide.height);
        (alone(width, height, "fig", &self.wide.body), width)
    }
}

/// A drawing with its colours.
pub(super) fn alone(width: f64, height: f64, class: &str, body: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"{class}\" width=\"{width:.0}\" height=\"{height:.0}\" viewBox=\"0 0 {width:.0} {height:.0}\" font-family=\"Tarebook Serif\"><style>{STYLE}</style>{body}</svg>"
    )
}
