//! A small shop's book, typed by hand, and the program to audit it with.
//!
//! Must not know what a test is about. Start reading at [`Shop`].

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use assert_cmd::cargo::cargo_bin;
use tempfile::TempDir;

/// The moment of most audits: three hours after the orders.
pub const AS_OF: &str = "2026-11-25T12:00:00Z";

/// The program, with nothing of the environment that changes what it writes.
pub fn everyline(arguments: &[&str]) -> Command {
    let mut command = Command::new(cargo_bin!("everyline"));
    command.args(arguments).env_remove("NO_COLOR").env_remove("COLUMNS").env_remove("CLICOLOR_FORCE");
    command
}

/// What a run wrote, and its code.
pub struct Run {
    pub stdout: String,
    pub stderr: String,
    pub code: i32,
}

/// Runs a command to its end.
pub fn run(command: &mut Command) -> Run {
    let output = command.output().unwrap();
    Run {
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
        code: output.status.code().expect("the program ends by itself"),
    }
}

/// A folder of tables. Order 1001 goes out without its tote bag, which is linked to nothing; of order 1002 two
/// mugs were sent and one was bought; order 1003 is right.
pub struct Shop {
    folder: TempDir,
}

impl Shop {
    pub fn with_two_mistakes() -> Self {
        let shop = Self { folder: tempfile::tempdir().unwrap() };
        shop.put(
            "orders.csv",
            "order_id,placed_at,paid_at,status,currency\n\
             1001,2026-11-24T09:00:00Z,2026-11-24T09:01:00Z,open,EUR\n\
             1002,2026-11-25T09:00:00Z,2026-11-25T09:01:00Z,open,EUR\n\
             1003,2026-11-25T09:30:00Z,2026-11-25T09:31:00Z,open,EUR\n",
        );
        shop.put(
            "order_lines.csv",
            "order_id,line_id,sku,title,options,quantity,unit_price\n\
             1001,1,AP-MOSS,Kitchen set,\"{\"\"Choice\"\":\"\"Large apron, moss\"\"}\",1,24.00\n\
             1001,2,TO-RUST,Kitchen set,\"{\"\"Choice\"\":\"\"Tote bag, rust\"\"}\",1,12.00\n\
             1002,1,MU-LOW,Mug,,1,9.00\n\
             1003,1,AP-MOSS,Kitchen set,,1,24.00\n",
        );
        shop.put(
            "variants.csv",
            "supplier,variant_id,sku,product\nalder-print,A1,AP-MOSS,Apron\nalder-print,A2,MU-LOW,Mug\n",
        );
        shop.put(
            "submissions.csv",
            "supplier,submission_id,order_ref,status,received_at\n\
             alder-print,S1,1001,received,2026-11-25T09:05:00Z\n\
             alder-print,S2,1002,received,2026-11-25T09:05:00Z\n\
             alder-print,S3,1003,received,2026-11-25T09:35:00Z\n",
        );
        shop.put(
            "submission_lines.csv",
            "supplier,submission_id,line_id,variant_id,quantity\n\
             alder-print,S1,1,A1,1\nalder-print,S2,1,A2,2\nalder-print,S3,1,A1,1\n",
        );
        shop
    }

    /// The same, put right.
    pub fn without_mistakes() -> Self {
        let shop = Self::with_two_mistakes();
        shop.edit("order_lines.csv", "TO-RUST", "AP-MOSS");
        shop.edit("submission_lines.csv", "S1,1,A1,1", "S1,1,A1,2");
        shop.edit("submission_lines.csv", "S2,1,A2,2", "S2,1,A2,1");
        shop
    }

    /// The same, with a row of order 1003 that cannot be read.
    pub fn with_a_bad_row() -> Self {
        let shop = Self::with_two_mistakes();
        shop.edit("order_lines.csv", "1003,1,AP-MOSS,Kitchen set,,1,", "1003,1,AP-MOSS,Kitchen set,,one,");
        shop
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    pub fn put(&self, name: &str, text: &str) {
        fs::write(self.path().join(name), text).unwrap();
    }

    pub fn edit(&self, name: &str, old: &str, new: &str) {
        let text = fs::read_to_string(self.path().join(name)).unwrap();
        assert!(text.contains(old), "{name} does not contain {old}");
        self.put(name, &text.replace(old, new));
    }

    /// An audit of it, at [`AS_OF`].
    pub fn audit(&self, more: &[&str]) -> Command {
        let mut command = everyline(&["audit", "--as-of", AS_OF, "--from"]);
        command.arg(self.path()).args(more);
        command
    }
}
