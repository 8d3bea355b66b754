//! Servers that are not ours: general packages of the npm registry, installed by name into `target`.
//!
//! Start reading at [`Package::installed`].

use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::time::Duration;

use anyhow::{Context, ensure};
use serde_json::Value;

use crate::rest::finished;
use crate::{root, tell};

/// How long installing one may take.
const INSTALLING: Duration = Duration::from_secs(300);

/// A package.
pub struct Package {
    /// By what name it is known.
    pub name: &'static str,
    /// In which version it is installed.
    pub version: &'static str,
    /// In which folder of `target`.
    pub folder: &'static str,
    /// Which Node.js it needs.
    pub node: &'static str,
}

impl Package {
    /// Where it is installed; it is, where it is not there yet.
    ///
    /// # Errors
    /// Where there is no Node.js, or the registry does not give the package.
    pub fn installed(&self) -> anyhow::Result<PathBuf> {
        let Self { name, version, folder, node } = self;
        for program in ["node", "npm"] {
            let is_there = Command::new(program).arg("--version").output();
            ensure!(
                is_there.is_ok_and(|output| output.status.success()),
                "no {program} can be run; this check asks a server that runs on Node.js: install Node.js {node}, and its \
                 npm, so that both can be run by these names; the other checks do without"
            );
        }
        let folder = root()?.join("target").join(folder);
        let manifest = folder.join("node_modules").join(name).join("package.json");
        let of_version = |text: String| {
            let manifest: Option<Value> = serde_json::from_str(&text).ok();
            manifest.is_some_and(|manifest| manifest["version"] == *version)
        };
        if fs::read_to_string(&manifest).is_ok_and(of_version) {
            return Ok(folder);
        }
        tell(&format!("installing {name} {version} into {}", folder.display()));
        fs::create_dir_all(&folder).with_context(|| format!("{} cannot be made", folder.display()))?;
        let mut npm = Command::new("npm");
        npm.args(["install", "--no-audit", "--no-fund", "--loglevel=error", "--prefix"])
            .arg(&folder)
            .arg(format!("{name}@{version}"))
            .current_dir(&folder);
        let ended = finished(&mut npm, INSTALLING)?;
        ensure!(
            ended.status.success(),
            "npm could not install {name} {version} ({}); it needs the package registry the first time:\n{}",
            ended.status,
            ended.stderr
        );
        Ok(folder)
    }
}
