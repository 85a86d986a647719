//! What goes to waste, and what to do with it.

/// A waste solution: a jar of the file, or a liquor that goes nowhere.
#[derive(Clone, Debug, PartialEq)]
pub struct WasteStream {
    /// Jar or lot.
    pub name: String,
    /// Lots in it.
    pub lots: Vec<String>,
    /// Volume, as litres of water.
    pub volume: f64,
    /// Expected pH.
    pub ph: Option<f64>,
    /// Whether the activity model holds; figures are estimates otherwise.
    pub within: bool,
    /// What is dissolved: ion without charge, mg/L, the user's own limit in mg/L.
    pub contents: Vec<(String, f64, Option<f64>)>,
    /// What takes it out.
    pub treatment: Option<WasteTreatment>,
    /// Text for the label.
    pub label: String,
    /// What must never come to it, with the reason.
    pub never: Vec<(String, &'static str)>,
    /// Why there are no figures.
    pub unknown: Option<String>,
}

/// How a waste solution is treated.
#[derive(Clone, Debug, PartialEq)]
pub struct WasteTreatment {
    /// Reagent.
    pub reagent: String,
    /// g of it, as long as the carbon dioxide stays in.
    pub grams: f64,
    /// g of it in all, once all carbon dioxide has left.
    pub grams_at_most: f64,
    /// pH it leads to.
    pub to_ph: f64,
    /// Solids that settle, g.
    pub solids: Vec<(String, f64)>,
    /// Carbon dioxide at most, L: all that an acid can drive out.
    pub gas: f64,
    /// Heat at most, kJ.
    pub heat: f64,
    /// What is left: metal, mg/L, the user's own limit.
    pub left: Vec<(String, f64, Option<f64>)>,
}
