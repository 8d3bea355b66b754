//! `cargo xtask browser`: the pages in a real browser, as their owner uses them.
//!
//! The browser is Chromium, driven by playwright-core and looked over by axe-core, both general packages of the npm registry.
//! The program serves the demo, a quiet shop whose cause of trouble comes and goes, and a shop of which every text is hostile,
//! behind a password. Looked at are the owner's ways with and without a script, by keys alone and on a phone; that news comes
//! by itself and takes nothing away; every page in light and dark, narrow and wide; and that what nobody may do is refused.
//! Must not know what a page shows: that stands in `browser/*.mjs`; start reading at `browser/main.mjs`, and here at [`run`].

use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, bail, ensure};
use serde_json::json;

use crate::npm::Package;
use crate::rest::{built, finished};
use crate::{root, tell};

/// Drives the browser; it brings none of its own.
const DRIVER: Package =
    Package { name: "playwright-core", version: "1.65.1", folder: "browser", node: "20 or later" };

/// Looks pages over.
const LOOKS: Package =
    Package { name: "axe-core", version: "4.14.1", folder: "browser", node: "20 or later" };

/// By what names Chromium is run.
const CHROMIUM: [&str; 3] = ["chromium", "chromium-browser", "google-chrome"];

/// What has it where the system has packages by apt. A machine without a screen may have no fonts.
const PACKAGES: [&str; 2] = ["chromium", "fonts-dejavu-core"];

/// How long installing it may take.
const INSTALLING: Duration = Duration::from_secs(600);

/// How long all of it may take. The program sets itself less, ends what it has started, and says what was not done.
const ALL: Duration = Duration::from_secs(900);

/// Looks at the pages.
///
/// # Errors
/// Where something is not as it must be, which has been said; where anything cannot be run.
pub fn run() -> anyhow::Result<()> {
    LOOKS.installed()?;
    let packages = DRIVER.installed()?;
    let chromium = chromium()?;
    let everyline = built()?;
    let scratch = tempfile::tempdir().context("no temporary folder could be made")?;
    let places = json!({
        "everyline": everyline,
        "chromium": chromium,
        "packages": packages,
        "root": root()?,
        "scratch": scratch.path(),
    });
    let mut child = Command::new("node")
        .arg(root()?.join("crates/xtask/src/browser/main.mjs"))
        .arg(places.to_string())
        .stdin(Stdio::null())
        .spawn()
        .context("node could not be started")?;
    let began = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait()? {
            break status;
        }
        if began.elapsed() > ALL {
            child.kill()?;
            child.wait()?;
            bail!("it was not done after {} s", ALL.as_secs());
        }
        thread::sleep(Duration::from_millis(50));
    };
    ensure!(status.success(), "something is not as it must be, see above ({status})");
    Ok(())
}

/// Where Chromium is; it is installed where it is not there, this is a system with apt, and it may be done.
fn chromium() -> anyhow::Result<PathBuf> {
    if let Some(path) = found() {
        return Ok(path);
    }
    let names = PACKAGES.join(" ");
    let by_hand =
        format!("install Chromium, so that it can be run as `{}`; the other checks do without", CHROMIUM[0]);
    let is_root = Command::new("id").arg("-u").output().is_ok_and(|said| said.stdout.trim_ascii() == b"0");
    let has_apt = Command::new("apt-get").arg("--version").output().is_ok_and(|said| said.status.success());
    ensure!(is_root && has_apt, "no Chromium can be run: {by_hand}");
    tell(&format!("installing {names} with the system's packages"));
    let apt = |arguments: &[&str]| {
        let mut command = Command::new("apt-get");
        command.args(arguments).env("DEBIAN_FRONTEND", "noninteractive");
        finished(&mut command, INSTALLING)?.expect(0).context(by_hand.clone())
    };
    apt(&["update", "--quiet"])?;
    apt(&[&["install", "--yes", "--quiet", "--no-install-recommends"], &PACKAGES[..]].concat())?;
    found().with_context(|| format!("{names} are installed, and no Chromium can be run: {by_hand}"))
}

fn found() -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path)
        .flat_map(|folder| CHROMIUM.map(|name| folder.join(name)))
        .find(|place| place.is_file())
}
