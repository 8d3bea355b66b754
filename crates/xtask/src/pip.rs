//! Servers, readers and judges that are not ours: general packages of the Python Package Index, installed by name into an
//! environment of their own under `target`.
//!
//! Start reading at [`Environment::python`].

use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::time::Duration;

use anyhow::{Context, ensure};

use crate::rest::finished;
use crate::{root, tell};

/// How long making the environment or installing may take.
const INSTALLING: Duration = Duration::from_secs(300);

/// An environment with some packages.
pub struct Environment {
    /// Each by its name and version, as pip is told.
    pub packages: &'static [&'static str],
    /// In which folder of `target`.
    pub folder: &'static str,
}

impl Environment {
    /// Its Python; it is made and the packages are installed, where they are not there yet.
    ///
    /// # Errors
    /// Where there is no Python with venv, or the registry does not give a package.
    pub fn python(&self) -> anyhow::Result<PathBuf> {
        let is_there = Command::new("python3").args(["-c", "import ensurepip, venv"]).output();
        ensure!(
            is_there.is_ok_and(|output| output.status.success()),
            "no python3 with venv can be run; this check asks a program that runs on Python: install Python 3.11 or later, \
             with its venv; the other checks do without"
        );
        let folder = root()?.join("target").join(self.folder);
        let python = folder.join("bin/python");
        let said = folder.join("installed");
        let packages = self.packages.join(" ");
        if fs::read_to_string(&said).is_ok_and(|installed| installed == packages) && python.exists() {
            return Ok(python);
        }
        tell(&format!("installing {packages} into {}", folder.display()));
        let mut venv = Command::new("python3");
        venv.args(["-m", "venv", "--clear"]).arg(&folder);
        finished(&mut venv, INSTALLING)?.expect(0)?;
        let mut pip = Command::new(&python);
        pip.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check"]).args(self.packages);
        finished(&mut pip, INSTALLING)?.expect(0).context("it needs the package registry the first time")?;
        fs::write(&said, packages)?;
        Ok(python)
    }
}
