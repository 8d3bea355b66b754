//! An invented shop in a folder: what two suppliers make, and the command run on it.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::Value;
use tempfile::TempDir;

/// 6.5 % and 0.30 EUR, as the shop of the fixtures has them.
pub const FEES: &str = "[fees]\npercent = \"6.5\"\nper_unit = [{ amount = \"0.30\", currency = \"EUR\" }]\n";

/// The listing that is filled in.
pub const LISTING: [&str; 2] = ["--listing", "KL-20"];

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
        for text in texts {
            assert!(flat(&all).contains(&flat(text)), "{text:?} is not in\n{all}");
        }
        self
    }

    pub fn json_lines(&self) -> Vec<Value> {
        self.out.lines().map(|line| serde_json::from_str(line).unwrap()).collect()
    }
}

pub fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

pub struct Shop(TempDir);

impl Shop {
    /// Aprons in two sizes and two colours, one of which cannot be had, and a bag in two colours; nothing on sale yet.
    pub fn new() -> Self {
        let shop = Self::empty();
        let mut variants = product("Apron", "AP", &["S", "L"], &["Moss", "Navy"], "12.10");
        variants += &product("Tote bag, strong", "TB", &[], &["Moss", "Clay"], "6.90");
        variants = variants.replace("AP-L-Navy,12.10,EUR,true", "AP-L-Navy,12.10,EUR,false");
        shop.variants(&variants);
        shop
    }

    pub fn empty() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub fn path(&self) -> &Path {
        self.0.path()
    }

    pub fn write(&self, name: &str, text: &str) {
        fs::write(self.path().join(name), text).unwrap();
    }

    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path().join(name)).unwrap()
    }

    /// Rows of variants, as [`product`] makes them.
    pub fn variants(&self, rows: &str) {
        let header =
            "supplier,sku,variant_id,unit_cost,currency,available,product,option.Size,option.Colour\n";
        self.write("variants.csv", &format!("{header}{rows}"));
    }

    pub fn run(&self, arguments: &[&str]) -> Run {
        self.run_in(80, arguments)
    }

    pub fn run_in(&self, columns: usize, arguments: &[&str]) -> Run {
        let mut command = Command::new(env!("CARGO_BIN_EXE_everyline"));
        command.args(arguments).current_dir(self.path()).env("COLUMNS", columns.to_string());
        let output = command.output().unwrap();
        let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
        Run { out: text(&output.stdout), err: text(&output.stderr), code: output.status.code().unwrap() }
    }

    /// A table of the two products, 40 per cent of the price, from the folder.
    pub fn sheet(&self, more: &[&str]) -> Run {
        self.run(
            &[&["links", "sheet", "--from", "."], &LISTING[..], &BOTH, &["--margin", "40 %"], more].concat(),
        )
    }
}

/// The two products of [`Shop::new`].
pub const BOTH: [&str; 4] = ["--product", "alder-print:Apron", "--product", "alder-print:Tote bag, strong"];

/// A product in all of some sizes and colours; the ids are BEGIN-SIZE-COLOUR, the SKUs have S- in front.
pub fn product(product: &str, begin: &str, sizes: &[&str], colours: &[&str], cost: &str) -> String {
    let or_none = |all: &[&str]| {
        if all.is_empty() { vec![String::new()] } else { all.iter().map(ToString::to_string).collect() }
    };
    let mut rows = String::new();
    for size in or_none(sizes) {
        for colour in or_none(colours) {
            let id = format!("{begin}-{size}-{colour}");
            let quoted = |text: &str| match text.contains(['"', ',', '\r', '\n']) {
                true => format!("\"{}\"", text.replace('"', "\"\"")),
                false => text.to_owned(),
            };
            writeln!(
                rows,
                "alder-print,{},{},{cost},EUR,true,{},{},{}",
                quoted(&format!("S-{id}")),
                quoted(&id),
                quoted(product),
                quoted(&size),
                quoted(&colour)
            )
            .unwrap();
        }
    }
    rows
}
