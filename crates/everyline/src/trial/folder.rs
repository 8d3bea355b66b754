//! The folder of a trial, which nobody but the program's own user can read, and files that are written as they come.
//!
//! No name from outside is a path here. Must not know what stands in a file. Start reading at [`OwnFolder`].

use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io::Write as _;
use std::path::{Path, PathBuf};

use tracing::warn;

use super::Not;

/// Bytes that are gathered before they are written.
const GATHERED: usize = 256 * 1024;

/// Letters of the longest ending of a file.
const ENDING: usize = 8;

/// A folder that is deleted where nobody has it any longer.
#[derive(Debug)]
pub struct OwnFolder(PathBuf);

impl OwnFolder {
    /// A new folder under `base`, by a name of ours.
    ///
    /// # Errors
    /// Where it cannot be made.
    pub fn new(base: &Path, name: &str) -> Result<Self, Not> {
        let folder = base.join(name);
        let made = match own_folder(base) {
            Err(error) if error.kind() != std::io::ErrorKind::AlreadyExists => Err(error),
            _ => own_folder(&folder),
        };
        made.map_err(|error| not_written(&error))?;
        Ok(Self(folder))
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.0
    }

    /// A new file in it, by a name of ours.
    ///
    /// # Errors
    /// Where it cannot be made.
    pub fn file(&self, name: &str) -> Result<Written, Not> {
        let mut options = OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let file = options.open(self.0.join(name)).map_err(|error| not_written(&error))?;
        Ok(Written { file: Some(file), gathered: Vec::new(), bytes: 0 })
    }

    /// Deletes it with what is in it.
    pub fn delete(&self) {
        clear(&self.0);
    }
}

impl Drop for OwnFolder {
    fn drop(&mut self) {
        self.delete();
    }
}

fn own_folder(path: &Path) -> std::io::Result<()> {
    #[cfg_attr(not(unix), allow(unused_mut))]
    let mut builder = DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path)
}

/// Deletes a folder, if it is there.
pub fn clear(path: &Path) {
    match fs::remove_dir_all(path) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            warn!("files of a trial could not be deleted: {}: {error}", path.display());
        }
        _ => {}
    }
}

fn not_written(error: &std::io::Error) -> Not {
    // A path has no place on a page; where everyline runs it is said.
    warn!("files of a trial could not be written: {error}");
    Not::new("the files could not be put aside", "look whether the disk is full; everyline's log says more")
}

/// A file that is being written.
#[derive(Debug)]
pub struct Written {
    file: Option<File>,
    gathered: Vec<u8>,
    /// How many bytes came.
    pub bytes: u64,
}

impl Written {
    /// Takes the next bytes.
    ///
    /// # Errors
    /// Where they cannot be written.
    pub async fn take(&mut self, more: &[u8]) -> Result<(), Not> {
        self.bytes += more.len() as u64;
        self.gathered.extend_from_slice(more);
        if self.gathered.len() < GATHERED { Ok(()) } else { self.write().await }
    }

    /// All has come.
    ///
    /// # Errors
    /// Where the last bytes cannot be written.
    pub async fn end(mut self) -> Result<(), Not> {
        self.write().await
    }

    async fn write(&mut self) -> Result<(), Not> {
        let gathered = std::mem::take(&mut self.gathered);
        let Some(mut file) = self.file.take() else { return Ok(()) };
        let done = tokio::task::spawn_blocking(move || file.write_all(&gathered).map(|()| file)).await;
        let file = done.map_err(std::io::Error::other).flatten().map_err(|error| not_written(&error))?;
        self.file = Some(file);
        Ok(())
    }
}

/// The ending of a file's name, of letters and digits alone, by which its kind is told; empty where it has none.
pub fn ending(name: &str) -> String {
    match name.rsplit_once('.') {
        Some((_, ending))
            if (1..=ENDING).contains(&ending.len())
                && ending.bytes().all(|byte| byte.is_ascii_alphanumeric()) =>
        {
            format!(".{}", ending.to_ascii_lowercase())
        }
        _ => String::new(),
    }
}
