//! Volumetric ware of the file, and the volumes that were read off it.
//!
//! A volume of a charge becomes a mass by the density of its supply (water is known). Its uncertainty is the permitted error
//! of the ware, as a rectangle; a scale adds half the last digit of the figure, a single mark does not.

use crate::model::{Knowledge, Spanned, Step, VolumeRead, WARE_WATER, WATER, Ware};
use crate::syntax::{Fields, Findings, suggest};
use crate::ware::{CLASSES, KINDS, has_one_mark, permitted_error, standard_uncertainty};
use chem::Dimension;

/// The ware of an instrument table whose kind is not `balance`.
pub(super) fn ware(fields: &Fields<'_>, name: Option<Spanned<String>>, kind: &Spanned<String>) -> Option<Ware> {
    let class = fields.text("class");
    let word = kind.value.trim();
    if !KINDS.contains(&word) {
        let known: Vec<&str> = std::iter::once("balance").chain(KINDS).collect();
        let message = format!("`kind` of {} is `{}`", fields.what(), kind.value);
        fields.findings().error("unknown-word", &kind.span, message, suggest(word, &known));
        // What it may have is not known.
        for key in ["capacity", "resolution", "repeatability", "slope", "curvature"] {
            fields.item(key);
        }
        fields.finish();
        return None;
    }
    let capacity = if fields.item("capacity").is_none() {
        fields.missing("capacity", "\"25 mL\"");
        None
    } else {
        fields.quantity("capacity", Dimension::VOLUME)
    };
    fields.finish();
    let letter = class.as_ref().map_or("B", |class| class.value.trim());
    let letter = if letter == "AS" { "A" } else { letter };
    if let Some(class) = class.as_ref().filter(|_| !CLASSES.contains(&letter)) {
        let message = format!("`class` of {} is `{}`", fields.what(), class.value);
        fields.findings().error("unknown-word", &class.span, message, "the classes are A (also AS) and B");
        return None;
    }
    let capacity = capacity?;
    let volume = super::knowledge(fields, "capacity", &capacity.value, &capacity.span, f64::INFINITY)?.central();
    match permitted_error(word, letter, volume) {
        Ok((error, source)) => Some(Ware { name: name?, kind: word.to_owned(), capacity: volume, error, source }),
        Err(sizes) => {
            let message = format!("no {word} of {} is in the table of permitted errors", capacity.value.text);
            let hint = format!("class {letter} has {} mL", sizes.join(", "));
            fields.findings().error("out-of-range", &capacity.span, message, hint);
            None
        }
    }
}

/// Gives each volume that was read its mass.
pub(super) fn weigh_volumes(steps: &mut [Step], ware: &[Ware], measures: &super::Measures, findings: &Findings) {
    for reading in steps.iter_mut().flat_map(|step| &mut step.readings) {
        let Some(volume) = &mut reading.volume else { continue };
        let id = &reading.id.value;
        let refuse = |message: String, hint: &str| findings.error("bad-volume", &volume.span, message, hint);
        if reading.weigh.is_some() {
            refuse(format!("reading `{id}` is a mass and a volume"), "make two readings of it");
            continue;
        }
        let Some(charge) = &reading.charge else {
            refuse(format!("reading `{id}` is a volume of no charge"), "add `charge = \"supply\"`");
            continue;
        };
        let stated = measures.get(&charge.value).and_then(|measure| measure.density);
        let water = (charge.value == WATER).then_some(WARE_WATER);
        let Some(density) = stated.or(water) else {
            let message = format!("reading `{id}` is a volume of `{}`, whose density is not known", charge.value);
            refuse(message, "state `density` in the supply, `density = \"1.18 g/mL\"`");
            continue;
        };
        let Some(piece) = ware.iter().find(|piece| piece.name.value == reading.with.value) else { continue };
        if volume.figure > piece.capacity * 1.001
            || (has_one_mark(&piece.kind) && volume.figure < piece.capacity * 0.999)
        {
            let holds = (piece.capacity * 1e9).round() * 1e-3;
            let message = format!("reading `{id}` is {}, but `{}` measures {holds} mL", volume.text, piece.name.value);
            refuse(message, "give one reading for each filling, and what each measured");
            continue;
        }
        volume.mass = Some(mass_of(volume, piece, density));
    }
}

fn mass_of(volume: &VolumeRead, piece: &Ware, density: Knowledge) -> Knowledge {
    let rounding = if has_one_mark(&piece.kind) { 0.0 } else { volume.rounding };
    let deviation = rounding.hypot(standard_uncertainty(piece.error));
    Knowledge::Normal { value: volume.figure, standard_uncertainty: deviation }.times(density)
}
