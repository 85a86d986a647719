//! `fields`: what can stand in a preparation file?

use crate::output::{self, Exit, Failure};

/// Prints the reference of the file; as JSON, its schema.
pub fn run(json: bool) -> Result<Exit, Failure> {
    if json {
        output::print_json(&report::schema::preparation())?;
    } else {
        output::print(&report::text::render(&report::document::fields_document(), output::page()))?;
    }
    Ok(Exit::Done)
}
