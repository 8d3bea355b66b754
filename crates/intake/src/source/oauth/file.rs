//! The file in which the tokens of a sign-in are kept: its owner's alone, never half written, changed by one at a time.
//!
//! It is written beside, brought to the disk, and put in the place of the old one; a crash at any point leaves the old tokens
//! or the new ones. Must not know the network. Start reading at [`TokenFile::lock`].

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{DateTime, Utc};
use secrecy::{ExposeSecret, SecretString};
use serde::{Deserialize, Serialize};

use super::{Granted, Lost, TokenTrouble};
use crate::source::declare::OAuth;

/// The form in which tokens are written. A later one is refused.
const VERSION: u32 = 1;

/// The largest file that is read; two tokens of the longest kind have half as much.
const MAX_FILE_BYTES: u64 = 128 * 1024;

/// How long between two looks whether the lock is free.
const LOOK_AGAIN: Duration = Duration::from_millis(50);

/// The tokens of a sign-in.
#[derive(Clone, Debug)]
pub(super) struct Tokens {
    pub(super) granted: Granted,
    /// When the access token was had, by the clock of this machine.
    pub(super) had_at: DateTime<Utc>,
}

/// How the file is written.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written<T> {
    version: u32,
    token_address: String,
    client_id: String,
    had_at: DateTime<Utc>,
    access_token: T,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    lasts_seconds: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    refresh_token: Option<T>,
}

/// The version alone, of a file that may be of a later form.
#[derive(Deserialize)]
struct OfVersion {
    version: u32,
}

/// Where the tokens are kept.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct TokenFile {
    path: PathBuf,
}

/// The file, which nobody else changes for as long.
#[derive(Debug)]
pub(super) struct Locked<'f> {
    path: &'f Path,
    _lock: File,
}

/// What has been written or done of a new file; a step that fails there ends it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Reached {
    /// It is there, and empty.
    Made,
    /// Half of it is written.
    Half,
    /// All of it is written.
    Whole,
    /// It is on the disk.
    OnDisk,
    /// It is in the place of the old one.
    InPlace,
}

/// A new file beside the old one, made before there is anything to write: where that cannot be, nothing is asked for.
#[derive(Debug)]
pub(super) struct Prepared<'f> {
    place: &'f Path,
    beside: PathBuf,
    file: File,
    is_in_place: bool,
}

impl TokenFile {
    pub(super) fn new(path: &Path) -> Self {
        Self { path: path.to_owned() }
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Waits until nobody else changes the file, for no longer than `within`.
    pub(super) async fn lock(&self, within: Duration) -> Result<Locked<'_>, TokenTrouble> {
        // Not the file itself, in whose place another is put.
        let path = beside(&self.path, "lock");
        let unusable =
            |error: io::Error| TokenTrouble::NotKept { path: self.path.clone(), said: error.to_string() };
        let lock =
            owner_only().create(true).truncate(false).read(true).write(true).open(&path).map_err(unusable)?;
        let mut looks = within.as_millis() / LOOK_AGAIN.as_millis();
        loop {
            match lock.try_lock() {
                Ok(()) => return Ok(Locked { path: &self.path, _lock: lock }),
                Err(TryLockError::Error(error)) => return Err(unusable(error)),
                Err(TryLockError::WouldBlock) if looks == 0 => {
                    return Err(TokenTrouble::Held { path, within });
                }
                Err(TryLockError::WouldBlock) => looks -= 1,
            }
            // By the runtime's clock: the other process does not know any other.
            tokio::time::sleep(LOOK_AGAIN).await;
        }
    }
}

impl<'f> Locked<'f> {
    /// The tokens, where they are for what is declared.
    pub(super) fn read(&self, oauth: &OAuth) -> Result<Tokens, Lost> {
        let said = |said: String| Lost::File { path: self.path.to_owned(), said };
        let mut file = match File::open(self.path) {
            Ok(file) => file,
            Err(error) if error.kind() == ErrorKind::NotFound => return Err(Lost::Nobody),
            Err(error) => return Err(said(error.to_string())),
        };
        let about = file.metadata().map_err(|error| said(error.to_string()))?;
        if is_open_to_others(&about) {
            return Err(Lost::FileOpen { path: self.path.to_owned() });
        }
        if about.len() > MAX_FILE_BYTES {
            return Err(said(format!("it is larger than {MAX_FILE_BYTES} bytes")));
        }
        let mut text = String::new();
        file.read_to_string(&mut text).map_err(|error| said(error.to_string()))?;
        let text = SecretString::from(text);
        // What serde says of a value repeats it.
        let foreign = || said("it is no file of tokens that everyline has written".to_owned());
        let OfVersion { version } = serde_json::from_str(text.expose_secret()).map_err(|_| foreign())?;
        if version > VERSION {
            return Err(said(format!(
                "it is of form {version}, which is later than form {VERSION} that this everyline knows"
            )));
        }
        let written: Written<SecretString> =
            serde_json::from_str(text.expose_secret()).map_err(|_| foreign())?;
        if written.token_address != oauth.token_address.as_str() || written.client_id != oauth.client_id {
            return Err(Lost::OfAnother);
        }
        Ok(Tokens {
            granted: Granted {
                access: written.access_token,
                refresh: written.refresh_token,
                lasts: written.lasts_seconds.map(Duration::from_secs),
            },
            had_at: written.had_at,
        })
    }

    /// Makes the new file, still empty.
    pub(super) fn prepare(&self) -> Result<Prepared<'f>, TokenTrouble> {
        let new = beside(self.path, "new");
        let made = || {
            // What a crash has left is nobody's.
            match std::fs::remove_file(&new) {
                Err(error) if error.kind() != ErrorKind::NotFound => return Err(error),
                _ => {}
            }
            owner_only().create_new(true).write(true).open(&new)
        };
        let file = made().map_err(|error| not_kept(self.path, &error))?;
        Ok(Prepared { place: self.path, beside: new, file, is_in_place: false })
    }
}

impl Prepared<'_> {
    /// Writes the tokens, and puts them in the place of the old ones. There is no point at which it waits for anything but
    /// the disk, so that it is not left off in the midst of it.
    pub(super) fn keep(self, oauth: &OAuth, tokens: &Tokens) -> Result<(), TokenTrouble> {
        let place = self.place;
        self.keep_by_steps(oauth, tokens, &mut |_| Ok(())).map_err(|error| not_kept(place, &error))
    }

    fn keep_by_steps(
        mut self,
        oauth: &OAuth,
        tokens: &Tokens,
        reached: &mut dyn FnMut(Reached) -> io::Result<()>,
    ) -> io::Result<()> {
        let Granted { access, refresh, lasts } = &tokens.granted;
        let written = Written {
            version: VERSION,
            token_address: oauth.token_address.to_string(),
            client_id: oauth.client_id.clone(),
            had_at: tokens.had_at,
            access_token: access.expose_secret(),
            lasts_seconds: lasts.map(|span| span.as_secs()),
            refresh_token: refresh.as_ref().map(ExposeSecret::expose_secret),
        };
        let text = SecretString::from(serde_json::to_string_pretty(&written)?);
        let (first, second) = text.expose_secret().as_bytes().split_at(text.expose_secret().len() / 2);
        reached(Reached::Made)?;
        self.file.write_all(first)?;
        reached(Reached::Half)?;
        self.file.write_all(second)?;
        self.file.write_all(b"\n")?;
        reached(Reached::Whole)?;
        self.file.sync_all()?;
        reached(Reached::OnDisk)?;
        std::fs::rename(&self.beside, self.place)?;
        self.is_in_place = true;
        reached(Reached::InPlace)?;
        sync_folder(self.place)
    }
}

impl Drop for Prepared<'_> {
    fn drop(&mut self) {
        if !self.is_in_place {
            // Whoever comes next takes it away where this fails.
            let _ = std::fs::remove_file(&self.beside);
        }
    }
}

fn not_kept(path: &Path, error: &io::Error) -> TokenTrouble {
    TokenTrouble::NotKept { path: path.to_owned(), said: error.to_string() }
}

/// `tokens.json` and `lock`: `tokens.json.lock`.
fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".");
    name.push(ending);
    path.with_file_name(name)
}

fn owner_only() -> OpenOptions {
    let mut options = OpenOptions::new();
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

#[cfg(unix)]
fn is_open_to_others(about: &std::fs::Metadata) -> bool {
    std::os::unix::fs::PermissionsExt::mode(&about.permissions()) & 0o077 != 0
}

/// Where there are no permissions of this kind, the folder's own must do.
#[cfg(not(unix))]
fn is_open_to_others(_: &std::fs::Metadata) -> bool {
    false
}

/// So that the new name is on the disk too.
#[cfg(unix)]
fn sync_folder(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::declare::{ClientAuthentication, Grant};

    const LONG: Duration = Duration::from_secs(5);

    fn oauth(client_id: &str, token_address: &str) -> OAuth {
        OAuth {
            grant: Grant::ClientCredentials,
            token_address: token_address.parse().unwrap(),
            client_id: client_id.to_owned(),
            secret: None,
            client_authentication: ClientAuthentication::Basic,
            scope: None,
            parameters: Vec::new(),
        }
    }

    fn own() -> OAuth {
        oauth("kittiwake", "https://till.example/token")
    }

    fn tokens(word: &str) -> Tokens {
        Tokens {
            granted: Granted {
                access: SecretString::from(format!("{word}-access")),
                refresh: Some(SecretString::from(format!("{word}-refresh"))),
                lasts: Some(Duration::from_secs(3_600)),
            },
            had_at: DateTime::UNIX_EPOCH,
        }
    }

    fn words(tokens: &Tokens) -> (String, Option<String>) {
        let word = |token: &SecretString| token.expose_secret().to_owned();
        (word(&tokens.granted.access), tokens.granted.refresh.as_ref().map(word))
    }

    fn of(word: &str) -> (String, Option<String>) {
        (format!("{word}-access"), Some(format!("{word}-refresh")))
    }

    #[tokio::test]
    async fn what_is_kept_is_read_again_and_shown_by_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let file = TokenFile::new(&folder.path().join("tokens.json"));
        let locked = file.lock(LONG).await.unwrap();
        assert_eq!(locked.read(&own()).unwrap_err(), Lost::Nobody);
        locked.prepare().unwrap().keep(&own(), &tokens("moss")).unwrap();
        let read = locked.read(&own()).unwrap();
        assert_eq!((words(&read), read.had_at), (of("moss"), DateTime::UNIX_EPOCH));
        assert_eq!(read.granted.lasts, Some(Duration::from_secs(3_600)));
        assert!(!format!("{read:?} {locked:?} {file:?}").contains("moss"));
    }

    #[tokio::test]
    async fn tokens_of_another_client_or_another_token_address_are_not_handed_on() {
        let folder = tempfile::tempdir().unwrap();
        let file = TokenFile::new(&folder.path().join("tokens.json"));
        let locked = file.lock(LONG).await.unwrap();
        locked.prepare().unwrap().keep(&own(), &tokens("moss")).unwrap();
        for other in [
            oauth("puffin", "https://till.example/token"),
            oauth("kittiwake", "https://elsewhere.example/token"),
        ] {
            assert_eq!(locked.read(&other).unwrap_err(), Lost::OfAnother);
        }
    }

    /// A crash leaves what there is as it is: nothing is tidied up behind it.
    #[tokio::test]
    async fn a_crash_at_any_step_leaves_the_old_tokens_or_the_new_ones() {
        for (crash, want) in [
            (Reached::Made, "old"),
            (Reached::Half, "old"),
            (Reached::Whole, "old"),
            (Reached::OnDisk, "old"),
            (Reached::InPlace, "new"),
        ] {
            let folder = tempfile::tempdir().unwrap();
            let file = TokenFile::new(&folder.path().join("tokens.json"));
            {
                let locked = file.lock(LONG).await.unwrap();
                locked.prepare().unwrap().keep(&own(), &tokens("old")).unwrap();
                let prepared = locked.prepare().unwrap();
                let (beside, left) = (prepared.beside.clone(), folder.path().join("left"));
                let ended = prepared.keep_by_steps(&own(), &tokens("new"), &mut |reached| {
                    if reached != crash {
                        return Ok(());
                    }
                    if beside.exists() {
                        std::fs::copy(&beside, &left)?;
                    }
                    Err(io::Error::other("cut"))
                });
                assert!(ended.is_err(), "{crash:?}");
                if left.exists() {
                    std::fs::rename(&left, &beside).unwrap();
                }
            }
            // The next process.
            let locked = file.lock(LONG).await.unwrap();
            assert_eq!(words(&locked.read(&own()).unwrap()), of(want), "{crash:?}");
            locked.prepare().unwrap().keep(&own(), &tokens("next")).unwrap();
            assert_eq!(words(&locked.read(&own()).unwrap()), of("next"), "{crash:?}");
            let mut names: Vec<_> =
                std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
            names.sort();
            assert_eq!(names, ["tokens.json", "tokens.json.lock"], "{crash:?}");
        }
    }

    #[tokio::test]
    async fn what_is_prepared_and_not_used_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let file = TokenFile::new(&folder.path().join("tokens.json"));
        let locked = file.lock(LONG).await.unwrap();
        drop(locked.prepare().unwrap());
        let names: Vec<_> =
            std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        assert_eq!(names, ["tokens.json.lock"]);
    }

    #[cfg(unix)]
    #[tokio::test]
    async fn the_file_is_its_owners_alone_and_refused_where_it_is_not() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("tokens.json");
        let file = TokenFile::new(&path);
        let locked = file.lock(LONG).await.unwrap();
        locked.prepare().unwrap().keep(&own(), &tokens("moss")).unwrap();
        for name in ["tokens.json", "tokens.json.lock"] {
            let mode = std::fs::metadata(folder.path().join(name)).unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o600, "{name}");
        }
        for open in [0o640, 0o604, 0o620] {
            std::fs::set_permissions(&path, std::fs::Permissions::from_mode(open)).unwrap();
            let lost = locked.read(&own()).unwrap_err();
            assert_eq!(lost, Lost::FileOpen { path: path.clone() }, "{open:o}");
            assert!(lost.help("till").contains("chmod 600"), "{}", lost.help("till"));
        }
        // A new sign-in puts a closed one there.
        locked.prepare().unwrap().keep(&own(), &tokens("new")).unwrap();
        assert_eq!(words(&locked.read(&own()).unwrap()), of("new"));
    }

    #[cfg(unix)]
    #[tokio::test]
    async fn a_file_that_is_no_tokens_is_said_without_showing_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("tokens.json");
        let file = TokenFile::new(&path);
        let locked = file.lock(LONG).await.unwrap();
        let foreign = "it is no file of tokens that everyline has written";
        let later = "it is of form 2, which is later than form 1 that this everyline knows";
        for (text, want) in [
            (String::new(), foreign.to_owned()),
            ("moss-and-stone".to_owned(), foreign.to_owned()),
            (r#"{"version":1,"access_token":"moss-and-stone"}"#.to_owned(), foreign.to_owned()),
            (r#"{"version":"moss-and-stone"}"#.to_owned(), foreign.to_owned()),
            (r#"{"version":2,"tokens":"moss-and-stone"}"#.to_owned(), later.to_owned()),
            (" ".repeat(131_073), "it is larger than 131072 bytes".to_owned()),
        ] {
            drop(std::fs::remove_file(&path));
            owner_only()
                .create_new(true)
                .write(true)
                .open(&path)
                .unwrap()
                .write_all(text.as_bytes())
                .unwrap();
            let lost = locked.read(&own()).unwrap_err();
            assert_eq!(lost, Lost::File { path: path.clone(), said: want });
            assert!(!format!("{lost} {lost:?}").contains("moss"), "{lost}");
        }
    }

    #[tokio::test(start_paused = true)]
    async fn whoever_holds_the_lock_for_too_long_is_said() {
        let folder = tempfile::tempdir().unwrap();
        let file = TokenFile::new(&folder.path().join("tokens.json"));
        let held = file.lock(LONG).await.unwrap();
        let trouble = file.lock(LONG).await.unwrap_err();
        let path = folder.path().join("tokens.json.lock");
        assert_eq!(trouble, TokenTrouble::Held { path, within: LONG });
        assert!(trouble.may_pass());
        drop(held);
        assert!(file.lock(LONG).await.is_ok());
    }

    #[tokio::test]
    async fn a_folder_that_is_not_there_is_said_before_anything_is_asked() {
        let file = TokenFile::new(Path::new("/nowhere/tokens.json"));
        let trouble = file.lock(LONG).await.unwrap_err();
        assert!(matches!(trouble, TokenTrouble::NotKept { .. }), "{trouble}");
        assert!(
            trouble.to_string().starts_with("the file /nowhere/tokens.json with the tokens"),
            "{trouble}"
        );
    }
}
