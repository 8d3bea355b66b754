//! A folder that lives as long as one input is looked at.
//!
//! Must not know what is written into it. Start reading at [`Scratch`].

use std::fs;
use std::path::Path;

use tempfile::TempDir;

/// Memory that looks like a folder, on most systems; a disk would be worn out by some thousand folders a second.
const IN_MEMORY: &str = "/dev/shm";

/// A new, empty folder, removed when it is dropped.
#[derive(Debug)]
pub struct Scratch(TempDir);

impl Default for Scratch {
    fn default() -> Self {
        let in_memory = Path::new(IN_MEMORY);
        let dir = if in_memory.is_dir() { tempfile::tempdir_in(in_memory) } else { tempfile::tempdir() };
        Self(dir.expect("a folder can be made"))
    }
}

impl Scratch {
    /// With these files in it.
    pub fn of<N: AsRef<str>, C: AsRef<[u8]>>(files: impl IntoIterator<Item = (N, C)>) -> Self {
        let scratch = Self::default();
        for (name, content) in files {
            fs::write(scratch.path().join(name.as_ref()), content).expect("a file can be written");
        }
        scratch
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        self.0.path()
    }
}
