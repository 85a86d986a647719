//! What says of an archive which files it holds, what they are, and where they come from?
//!
//! The description of a research object after RO-Crate 1.1 (P. Sefton et al., RO-Crate Metadata Specification 1.1,
//! researchobject.org): a JSON-LD file at the root of the folder that names the root data set, every file with its size,
//! media type and SHA-256, and what was done: the preparation as one action per step, the account as one by this program.
//! Figures are not repeated here; they stand in the files.

use prep::outcome::RunRecord;
use serde_json::{Value, json};

/// Name of the description.
pub const METADATA: &str = "ro-crate-metadata.json";

/// A file of the archive.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Path in the archive.
    pub path: String,
    /// What it is, in words.
    pub description: String,
    /// Media type.
    pub mime: &'static str,
    /// Size, bytes.
    pub size: usize,
    /// SHA-256, hexadecimal.
    pub sha256: String,
    /// Whether the author wrote it; else the program computed it.
    pub written: bool,
}

/// The description of an archive. `date` is a day, YYYY-MM-DD; `version` that of the program.
#[must_use]
pub fn metadata(record: &RunRecord, entries: &[Entry], date: &str, version: &str) -> Value {
    let ids: Vec<Value> = entries.iter().map(|entry| json!({ "@id": entry.path })).collect();
    let of = |written: bool| -> Vec<Value> {
        entries.iter().filter(|entry| entry.written == written).map(|entry| json!({ "@id": entry.path })).collect()
    };
    let steps: Vec<Value> =
        (1..=record.steps.len()).map(|number| json!({ "@id": format!("#step-{number}") })).collect();
    let mut mentions = steps;
    mentions.push(json!({ "@id": "#account" }));
    let mut graph = vec![
        json!({
            "@id": METADATA,
            "@type": "CreativeWork",
            "conformsTo": { "@id": "https://w3id.org/ro/crate/1.1" },
            "about": { "@id": "./" },
        }),
        json!({
            "@id": "./",
            "@type": "Dataset",
            "name": record.title,
            "description": described(record),
            "datePublished": date,
            "license": { "@id": "#license" },
            "identifier": format!("blake3:{}", record.text_hash),
            "hasPart": ids,
            "mentions": mentions,
        }),
    ];
    graph.push(json!({
        "@id": "#license",
        "@type": "CreativeWork",
        "name": "Not stated",
        "description": "The author of the record states no licence; ask before it is used again.",
    }));
    if let Some(author) = &record.author {
        graph[1]["author"] = json!({ "@id": "#author" });
        graph.push(json!({ "@id": "#author", "@type": "Person", "name": author }));
    }
    graph.extend(entries.iter().map(file));
    graph.extend(record.steps.iter().enumerate().map(|(place, step)| {
        let times: Vec<&str> =
            record.readings.iter().filter(|r| r.step == step.name).filter_map(|r| r.at.as_deref()).collect();
        let mut action = json!({
            "@id": format!("#step-{}", place + 1),
            "@type": "CreateAction",
            "name": step.name,
            "description": step.action,
            "object": one_or_several(step.takes.iter().map(|(source, amount)| json!(format!("{amount} of {source}")))),
            "result": one_or_several(step.gives.iter().map(|lot| json!(lot))),
        });
        if let Some(last) = times.last() {
            action["endTime"] = json!(last);
        }
        action
    }));
    graph.push(json!({
        "@id": "#account",
        "@type": "CreateAction",
        "name": "Account of the preparation",
        "endTime": date,
        "instrument": { "@id": "#tarebook" },
        "object": one_or_several(of(true)),
        "result": one_or_several(of(false)),
    }));
    graph.push(json!({
        "@id": "#tarebook",
        "@type": "SoftwareApplication",
        "name": "Tarebook",
        "softwareVersion": version,
    }));
    json!({ "@context": ["https://w3id.org/ro/crate/1.1/context", { "sha256": "https://schema.org/sha256" }], "@graph": graph })
}

/// One value stands alone, several in a list, as RO-Crate recommends.
fn one_or_several(values: impl IntoIterator<Item = Value>) -> Value {
    let mut values: Vec<Value> = values.into_iter().collect();
    if values.len() == 1 { values.remove(0) } else { Value::Array(values) }
}

fn described(record: &RunRecord) -> String {
    let target = record.target.as_ref().map_or_else(String::new, |target| format!(" of {target}"));
    let span =
        record.span().map_or_else(|| "nothing weighed yet".to_owned(), |(first, last)| format!("{first} to {last}"));
    format!(
        "Record and account of a preparation{target}; readings {span}; hash of the planned fields {}",
        record.plan_hash
    )
}

fn file(entry: &Entry) -> Value {
    json!({
        "@id": entry.path,
        "@type": "File",
        "name": entry.path,
        "description": entry.description,
        "encodingFormat": entry.mime,
        "contentSize": entry.size.to_string(),
        "sha256": entry.sha256,
    })
}
