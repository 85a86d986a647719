//! How does a figure come onto paper?
//!
//! The drawing of the desk with the colours of print written out, because a typesetter knows no variables of a style; every
//! mark survives a grey printer by its form.

use super::Figure;

/// Room at the left and at the right for labels that reach out a little, px.
const MARGINS: (f64, f64) = (12.0, 40.0);
const STYLE: &str = include_str!("print.css");

impl Figure {
    /// The drawing for paper and its width, px.
    #[must_use]
    pub fn on_paper(&self) -> (String, f64) {
        let (width, height) = (self.wide.width, self.wide.height);
        // A drawing that fills the desk has its room inside.
        let right = if width < 600.0 { MARGINS.1 } else { MARGINS.0 };
        let whole = width + MARGINS.0 + right;
        (alone(-MARGINS.0, whole, height, &self.wide.body), whole)
    }
}

/// A drawing with its colours.
pub(super) fn alone(left: f64, width: f64, height: f64, body: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.0}\" height=\"{height:.0}\" viewBox=\"{left:.0} 0 {width:.0} {height:.0}\" font-family=\"Tarebook Serif\"><style>{STYLE}</style>{body}</svg>"
    )
}
