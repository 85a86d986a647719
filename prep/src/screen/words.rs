//! What is said of what is out of bounds: the reason, and the help that is left.
//!
//! Source: the program's own bounds; advice on disposal is common practice.

use chem::hazard::{Bound, Group};

/// Why a group is out of bounds, as the end of a sentence.
pub(super) fn reason(group: Group) -> &'static str {
    match group {
        Group::Explosive => "it is an explosive, by its name or by its composition",
        Group::Pyrotechnic => "pyrotechnic and incendiary mixes are no preparations of this program",
        Group::ToxicAgent => "it is a toxic agent: small amounts kill",
        Group::ControlledDrug => "it is a controlled drug or made into one",
        Group::Radioactive => "radioactive matter is not worked here",
        Group::Swallowing => "nothing made by this program is fit for swallowing or dosing",
        Group::Chlorate => "chlorates are explosive with whatever burns; they are neither made nor collected here",
        Group::Perchlorate => {
            "perchlorates are explosive with whatever burns; they are neither made nor collected here"
        }
        Group::AmmoniumNitrate => "ammonium nitrate is explosive; it is neither made nor separated here",
        Group::Azide => "azides are poisons and become explosive with heavy metals; they are not made here",
        Group::Cyanide => "cyanide: a small amount kills, and acids set its gas free; it is not made here",
        Group::HydrogenFluoride => "hydrogen fluoride burns and poisons through the skin; it is not made here",
        Group::Phosphorus => "phosphorus is not made here: it catches fire, and its vapour is a poison",
        Group::Phosphide => "phosphides give phosphine, a toxic gas, with water; they are not made here",
        Group::Phosphine => "phosphine is a toxic gas that catches fire; it is not made here",
        Group::Chlorine => "chlorine is a toxic gas; it is not made here beyond a trace",
        Group::ConcentratedPeroxide => "hydrogen peroxide is not made or made stronger here: it becomes explosive",
        Group::NitricAcid => "nitric acid is not made or made stronger here",
        Group::Hydrazine => "hydrazine is a poison that burns and explodes; it is not made here",
        Group::SpecialMetal => "alkali metals, beryllium, osmium and thallium are not worked here",
        Group::UnknownOrganic => {
            "organic matter beyond the ligands, fillers and solvents of the bench is not known here"
        }
    }
}

/// The safe help beside a refusal.
pub(super) fn help(group: Group) -> &'static str {
    match group {
        Group::Explosive | Group::Chlorate | Group::Perchlorate | Group::AmmoniumNitrate | Group::Azide => {
            "if it is already there: leave it, keep heat, blows and acids away, and call the fire brigade or the hazardous waste service; list it on the shelf to see what it must not meet"
        }
        Group::Pyrotechnic => {
            "what lies about goes to the hazardous waste service, unmixed; list the parts on a shelf to see what must be kept apart"
        }
        Group::ToxicAgent | Group::Cyanide | Group::Phosphide | Group::Phosphine | Group::Chlorine => {
            "if it is already there or forms by accident: go into fresh air and call for help; closed vessels go to the hazardous waste service; `plan` tells the gases of steps that give them by mistake"
        }
        Group::HydrogenFluoride => {
            "rust removers with fluoride go to the hazardous waste service unmixed; on skin: rinse at once and call a poison centre"
        }
        Group::ControlledDrug => "unused medicines go back to the pharmacy",
        Group::Radioactive => {
            "sources, ores and old instruments: leave them closed and ask the radiation protection authority"
        }
        Group::Swallowing => {
            "the books, yields and tests of the same substance are there once its title has no such use"
        }
        Group::Phosphorus | Group::Hydrazine | Group::SpecialMetal => {
            "what is there goes to the hazardous waste service as it stands; list it on the shelf to see what it must not meet"
        }
        Group::ConcentratedPeroxide | Group::NitricAcid => {
            "it can be a supply as it is sold; what is left over is thinned with much water and goes to the hazardous waste service"
        }
        Group::UnknownOrganic => {
            "salts of acetic, formic, oxalic, citric, tartaric, gluconic and other listed acids are known; the supplier's safety data sheet tells the hazards of others"
        }
    }
}

/// The sentence of a refusal.
pub(super) fn refusal(what: &str, bound: Bound) -> String {
    format!("{what} is out of bounds: {}", reason(bound.group))
}
