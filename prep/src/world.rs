//! What lies beside the file?
//!
//! A preparation may take a lot of another one as a supply. Reading that other file is the only thing that reading a
//! preparation asks of the outside world; whoever calls decides what it may see.

/// The files beside a preparation.
pub trait World {
    /// The bytes of a file as named in the preparation, and what lies beside that file in turn.
    ///
    /// # Errors
    /// Why it cannot be read, as half a sentence.
    fn open(&self, file: &str) -> Result<(Vec<u8>, Box<dyn World>), String>;

    /// The preparation files of a folder, as [`World::open`] takes them, in the order of their names.
    ///
    /// # Errors
    /// Why the folder cannot be read, as half a sentence.
    fn list(&self, _folder: &str) -> Result<Vec<String>, String> {
        Err("no folder can be read here".to_owned())
    }
}

/// Nothing beside the file.
#[derive(Clone, Copy, Debug, Default)]
pub struct Nowhere;

impl World for Nowhere {
    fn open(&self, _: &str) -> Result<(Vec<u8>, Box<dyn World>), String> {
        Err("no other file can be read here".to_owned())
    }
}
