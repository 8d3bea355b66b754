//! The program on a ledger of its own.
//!
//! Start reading at [`Shop`].

use std::fs;
use std::path::Path;
use std::process::Command;

use assert_cmd::cargo::cargo_bin;
use serde_json::Value;
use tempfile::TempDir;

/// A folder with a configuration, and whatever else the program makes in it.
pub struct Shop(pub TempDir);

/// What a run wrote, and its code.
#[derive(Debug)]
pub struct Run {
    pub out: String,
    pub err: String,
    pub code: i32,
}

impl Run {
    /// Looks whether it ended so, and said all of this, line breaks apart.
    #[track_caller]
    pub fn says(self, code: i32, texts: &[&str]) -> Self {
        let all = format!("{}{}", self.out, self.err);
        assert_eq!(self.code, code, "{all}");
        let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        for text in texts {
            assert!(flat(&all).contains(&flat(text)), "{text:?} is not in\n{all}");
        }
        self
    }

    pub fn json_lines(&self) -> Vec<Value> {
        self.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }
}

impl Shop {
    pub fn of(configuration: &str) -> Self {
        let shop = Self(tempfile::tempdir().unwrap());
        shop.write("everyline.toml", configuration);
        shop
    }

    pub fn path(&self) -> &Path {
        self.0.path()
    }

    pub fn write(&self, name: &str, text: &str) {
        let path = self.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path().join(name)).unwrap()
    }

    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(cargo_bin!("everyline"));
        command.args(arguments).current_dir(self.path()).env("COLUMNS", "80");
        command
    }

    pub fn run(&self, arguments: &[&str]) -> Run {
        let output = self.command(arguments).output().unwrap();
        let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
        Run { out: text(&output.stdout), err: text(&output.stderr), code: output.status.code().unwrap() }
    }

    /// Reads the sources, and judges.
    #[track_caller]
    pub fn round(&self) {
        let run = self.run(&["watch", "--once"]);
        assert!(run.code < 2, "{}", run.err);
    }

    pub fn set(&self, arguments: &[&str]) -> Run {
        self.run(&[&["links", "set"], arguments].concat())
    }

    pub fn send(&self, arguments: &[&str]) -> Run {
        self.run(&[&["links", "send"], arguments].concat())
    }
}
