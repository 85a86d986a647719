//! A lot of another preparation as a supply.
//!
//! The other file is read and accounted for; the lot brings its composition along, with all that is uncertain about it.
//! What the other preparation does not know, this one does not either.

use crate::evaluate;
use crate::model::{Amount, By, Knowledge, Origin, Spanned, Supply};
use crate::outcome::Severity;
use crate::syntax::{Fields, Findings, suggest};
use crate::world::World;
use std::sync::Arc;

const RING: &str = "origin-ring";
const RING_REMEDY: &str = "a lot cannot be made from itself; take one of these references out";

fn quoted(names: &[&str]) -> String {
    names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

/// Reads `from = { file = "…", lot = "…" }`.
pub(super) fn origin(fields: &Fields<'_>) -> Option<Origin> {
    fields.item("from")?;
    let (mut file, mut lot) = (None, None);
    for (key, text) in fields.pairs("from") {
        match key.value.as_str() {
            "file" => file = Some(text),
            "lot" => lot = Some(text),
            other => {
                let message = format!("`from` of {} has a key `{other}`", fields.what());
                fields.findings().error("unknown-key", &key.span, message, "it takes `file` and `lot`");
            }
        }
    }
    for key in ["holds", "assay", "strength", "content", "hardness", "took_up"] {
        if fields.item(key).is_some() {
            let message = format!("{} has both `from` and `{key}`", fields.what());
            let hint = "a lot brings its own composition; leave the other out";
            fields.findings().error("content-stated-twice", &fields.span, message, hint);
        }
    }
    match (file, lot) {
        (Some(file), Some(lot)) => Some(Origin { file, lot }),
        _ => {
            let message = format!("`from` of {} names no file or no lot", fields.what());
            let hint = "for instance `from = { file = \"bluestone.toml\", lot = \"copper oxide\" }`";
            fields.findings().error("missing-field", &fields.span, message, hint);
            None
        }
    }
}

/// Fetches the lot: its species and composition.
///
/// `within` names the files that this one is read for, the outermost first.
pub(super) fn fetch(supply: &mut Supply, world: &dyn World, within: &[&str], findings: &Findings) {
    let Some(origin) = supply.origin.clone() else { return };
    let (file, name) = (&origin.file.value, &supply.name.value);
    let refuse = |code: &'static str, span, message: String, hint: &str| findings.error(code, span, message, hint);
    if within.contains(&file.as_str()) {
        let message = format!("{}, `{file}` bring lots to one another in a ring", quoted(within));
        refuse(RING, &origin.file.span, message, RING_REMEDY);
        return;
    }
    let (bytes, beside) = match world.open(file) {
        Ok(opened) => opened,
        Err(why) => {
            let message = format!("supply `{name}` comes from `{file}`: {why}");
            refuse("origin-unreadable", &origin.file.span, message, "give the file's place beside this one");
            return;
        }
    };
    let chain: Vec<&str> = within.iter().copied().chain([file.as_str()]).collect();
    let reading = super::read_at(&bytes, &*beside, &chain);
    let Some(other) = reading.preparation else {
        let first = reading.findings.iter().find(|f| f.severity == Severity::Error);
        let message = match first {
            Some(error) if error.code == RING => {
                refuse(RING, &origin.file.span, error.message.clone(), RING_REMEDY);
                return;
            }
            Some(error) => format!("`{file}` has errors, the first in line {}: {}", error.line, error.message),
            None => format!("`{file}` has errors"),
        };
        refuse("origin-unreadable", &origin.file.span, message, "put that file in order first");
        return;
    };
    let lots: Vec<&str> = other.steps.iter().flat_map(|s| &s.gives).map(|g| g.lot.value.as_str()).collect();
    let lot = origin.lot.value.as_str();
    if !lots.contains(&lot) {
        let message = format!("`{file}` gives no lot `{lot}`");
        refuse("origin-no-lot", &origin.lot.span, message, &suggest(lot, &lots));
        return;
    }
    let taken = |s: &&crate::model::Step| {
        s.take.iter().any(|t| t.source.value == lot && t.amount.value == crate::model::TakeAmount::All)
    };
    if let Some(step) = other.steps.iter().find(taken) {
        let message = format!("lot `{lot}` of `{file}` is used up there, in step `{}`", step.name.value);
        refuse("origin-used-up", &origin.lot.span, message, "name the lot that is left in the end");
        return;
    }
    let Some(brought) = evaluate::brought(&other, lot) else {
        let message = format!("what lot `{lot}` of `{file}` holds cannot be told: the account there does not close");
        refuse("origin-unreadable", &origin.lot.span, message, "see what `tarebook account` says of that file");
        return;
    };
    supply.holds =
        brought.species().map(|species| Spanned { value: species.clone(), span: origin.lot.span.clone() }).collect();
    // What is left of the lot is what the other account leaves of it, unless the file says.
    let (value, standard_uncertainty) = brought.mass();
    let mass = Knowledge::Normal { value, standard_uncertainty };
    supply.left.get_or_insert_with(|| Spanned {
        value: Amount { by: By::Mass, figure: mass, mass, text: format!("{:.1} g", 1e3 * value) },
        span: origin.lot.span.clone(),
    });
    supply.brought = Some(Arc::new(brought));
}
