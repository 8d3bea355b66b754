//! The folder of a case, with all that can stand in it.
//!
//! After `--` can stand `NAME` alone, or with ` in UTF-16LE` or ` in UTF-16BE`: a file, its lines below; `NAME is not
//! there`, `is a folder`, `is a pipe`, `is a socket`, `leads to PATH` or `may not be read`; and `the folder is a file`,
//! `is not there` or `may not be read`. Must not know what is asked of the program. Start reading at [`make`].

use std::fs;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::os::unix::net::UnixListener;
use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;

use crate::content::bytes_of;

/// One thing in a folder.
pub enum Item {
    File { name: String, content: Vec<u8>, may_be_read: bool },
    NotThere,
    Folder(String),
    Pipe(String),
    Socket(String),
    Link { name: String, to: String },
    TheFolderIsAFile,
    TheFolderIsNotThere,
    TheFolderMayNotBeRead,
}

/// A folder with the files of a case.
pub struct Made {
    /// What is to be audited.
    pub path: PathBuf,
    /// Whether something in it may not be read, so that the program must not run as somebody who may read all.
    pub is_closed: bool,
    home: TempDir,
    /// They are there as long as somebody listens.
    sockets: Vec<UnixListener>,
}

impl Item {
    pub fn file(name: &str, content: Vec<u8>) -> Self {
        Self::File { name: name.to_owned(), content, may_be_read: true }
    }

    /// What `what` says; `content` is for files.
    pub fn read(what: &str, content: Vec<u8>) -> Self {
        let (name, state) = what.split_once(' ').unwrap_or((what, ""));
        let name = String::from_utf8(bytes_of(name)).unwrap();
        match (name.as_str(), state) {
            ("the", "folder is a file") => Self::TheFolderIsAFile,
            ("the", "folder is not there") => Self::TheFolderIsNotThere,
            ("the", "folder may not be read") => Self::TheFolderMayNotBeRead,
            (_, "") => Self::File { name, content, may_be_read: true },
            (_, "may not be read") => Self::File { name, content, may_be_read: false },
            (_, "in UTF-16LE") => Self::file(&name, utf_16(&content, u16::to_le_bytes)),
            (_, "in UTF-16BE") => Self::file(&name, utf_16(&content, u16::to_be_bytes)),
            (_, "is not there") => Self::NotThere,
            (_, "is a folder") => Self::Folder(name),
            (_, "is a pipe") => Self::Pipe(name),
            (_, "is a socket") => Self::Socket(name),
            _ => match state.strip_prefix("leads to ") {
                Some(to) => Self::Link { name, to: to.to_owned() },
                None => panic!("{what:?} means nothing"),
            },
        }
    }
}

/// Makes the folder. An error says what cannot be made here.
pub fn make(items: &[Item]) -> Result<Made, String> {
    let home = tempfile::tempdir().unwrap();
    let path = home.path().join("exports");
    fs::create_dir(&path).unwrap();
    let mut made = Made { path, is_closed: false, home, sockets: Vec::new() };
    for item in items {
        made.put(item)?;
    }
    Ok(made)
}

impl Made {
    fn put(&mut self, item: &Item) -> Result<(), String> {
        let at = |name: &String| self.path.join(name);
        match item {
            Item::File { name, content, may_be_read } => {
                fs::write(at(name), content).unwrap();
                if !may_be_read {
                    close(&at(name));
                    self.open_above();
                }
            }
            Item::NotThere => {}
            Item::Folder(name) => fs::create_dir(at(name)).unwrap(),
            Item::Pipe(name) => {
                let made = Command::new("mkfifo").arg(at(name)).status();
                if !made.is_ok_and(|status| status.success()) {
                    return Err("there is no mkfifo here".to_owned());
                }
            }
            Item::Socket(name) => self.sockets.push(UnixListener::bind(at(name)).unwrap()),
            Item::Link { name, to } => {
                if Path::new(to).is_absolute() && !Path::new(to).exists() {
                    return Err(format!("there is no {to} here"));
                }
                symlink(to, at(name)).unwrap();
            }
            Item::TheFolderIsAFile => {
                fs::remove_dir_all(&self.path).unwrap();
                fs::write(&self.path, "").unwrap();
            }
            Item::TheFolderIsNotThere => fs::remove_dir_all(&self.path).unwrap(),
            Item::TheFolderMayNotBeRead => {
                self.open_above();
                close(&self.path);
            }
        }
        Ok(())
    }

    /// Lets anybody into the folder and what it stands in, so that only what is closed stops the program.
    fn open_above(&mut self) {
        self.is_closed = true;
        for folder in [self.home.path(), &self.path] {
            fs::set_permissions(folder, fs::Permissions::from_mode(0o755)).unwrap();
        }
    }
}

/// Opens the folder, so that it can be removed.
impl Drop for Made {
    fn drop(&mut self) {
        if self.is_closed {
            let _ = fs::set_permissions(&self.path, fs::Permissions::from_mode(0o755));
        }
    }
}

fn close(path: &Path) {
    fs::set_permissions(path, fs::Permissions::from_mode(0o0)).unwrap();
}

fn utf_16(content: &[u8], bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
    String::from_utf8(content.to_vec()).unwrap().encode_utf16().flat_map(bytes).collect()
}
